# Golden numbers of tests/count_model_test.cpp, stand_report_test.cpp and design_report_test.cpp. Run: Rscript tests/reference/stand_counts.R
# Debian: r-base-core. Output of R 4.2.2: stand_counts.txt beside this file; a second. The counts are invented.
strips <- rep(1:4, each = 6)
treatment <- rep(rep(c("a", "b", "c"), each = 2), 4)
feet <- c(17.5, 17.5, 17.5, 35, 17.5, 17.5, 20, 20, 20, 20, 40, 20, 17.5, 17.5, 17.5, 17.5, 17.5, 17.5, 30, 15, 30, 15, 30, 15)
plants <- c(31, 28, 33, 65, 24, 27, 34, 37, 38, 35, 60, 28, 30, 31, 29, 35, 25, 24, 50, 27, 57, 27, 41, 23)
rows <- data.frame(strip = factor(strips), treatment = factor(treatment), area = feet * 0.3048 * 30 * 0.0254, plants)
say <- function(name, x) cat(name, sprintf("%.12g", x), "\n")

look <- function(name, d, formula, null) {
  fit <- glm(formula, family = quasipoisson, data = d, offset = log(area), control = list(epsilon = 1e-12, maxit = 50))
  part <- glm(null, family = quasipoisson, data = d, offset = log(area), control = list(epsilon = 1e-12, maxit = 50))
  s <- summary(fit)
  say(paste(name, "coefficients"), coef(fit))
  say(paste(name, "se"), s$coefficients[, 2])
  say(paste(name, "dispersion"), s$dispersion)
  say(paste(name, "deviance"), deviance(fit))
  say(paste(name, "freedom"), df.residual(fit))
  test <- anova(part, fit, test = "F")
  say(paste(name, "F"), c(test$F[2], test[["Pr(>F)"]][2]))
  # rates over all strips by their area, differences by the delta method, 90 % by t
  X <- function(t) { e <- d; e$treatment <- factor(t, levels = levels(d$treatment)); model.matrix(formula, e) }
  rate <- function(t) { m <- d$area * exp(X(t) %*% coef(fit)); list(r = sum(m) / sum(d$area), g = colSums(X(t) * as.vector(m)) / sum(d$area)) }
  t90 <- qt(0.95, df.residual(fit))
  for (t in levels(d$treatment)) {
    r <- rate(t); se <- sqrt(as.vector(r$g %*% vcov(fit) %*% r$g)) / r$r
    say(paste(name, "rate", t), c(r$r, r$r * exp(-t90 * se), r$r * exp(t90 * se)))
  }
  for (p in list(c("b", "a"), c("c", "a"), c("c", "b"))) {
    one <- rate(p[1]); two <- rate(p[2]); g <- one$g - two$g
    difference <- one$r - two$r; se <- sqrt(as.vector(g %*% vcov(fit) %*% g))
    say(paste(name, "difference", p[1], p[2]), c(difference, difference - t90 * se, difference + t90 * se))
  }
}
look("rows", rows, plants ~ treatment + strip, plants ~ strip)
plots <- aggregate(cbind(area, plants) ~ treatment + strip, rows, sum)
look("plots", plots, plants ~ treatment + strip, plants ~ strip)
# strips of one treatment each: no strip effect
own <- rows; own$strip <- interaction(own$strip, own$treatment)
own <- aggregate(cbind(area, plants) ~ treatment + strip, own, sum)
look("own strips", own, plants ~ treatment, plants ~ 1)

# power of a t test: fewest a side for 80 % at the 90 % level, and the power with 4 and 12
for (delta in c(0.05, 0.1, 0.3)) {
  two <- power.t.test(delta = delta, sd = 0.08, sig.level = 0.1, power = 0.8)$n
  pairs <- power.t.test(delta = delta, sd = 0.08 * sqrt(2), sig.level = 0.1, power = 0.8, type = "paired")$n
  say(sprintf("power %g", delta), c(two, pairs, power.t.test(4, delta, 0.08, 0.1)$power, power.t.test(12, delta, 0.08, 0.1)$power,
    power.t.test(4, delta, 0.08 * sqrt(2), 0.1, type = "paired")$power))
}
# two treatments of a litterbag trial, 4 bags each, off by 5 % of what was put in and 0.2 g of 20 g: 5 points of mass
say("bags power", c(power.t.test(4, 0.05, sqrt(0.05^2 + 0.01^2), 0.1)$power, ceiling(power.t.test(delta = 0.05, sd = sqrt(0.05^2 + 0.01^2), sig.level = 0.1, power = 0.8)$n)))
