# Golden numbers of tests/profile_test.cpp and tests/bootstrap_test.cpp. Run: Rscript tests/reference/uncertainty.R
# Debian: r-base-core r-cran-mass r-cran-boot. Output of R 4.2.2 with MASS 7.3-58.2 and boot 1.3-28.1:
# uncertainty.txt beside this file; a minute.
suppressMessages({library(MASS); library(boot)})

# Profile t intervals (Bates and Watts 1988, Nonlinear Regression Analysis, chapter 6; their data, as R ships them):
# by confint of MASS (splines through the profile) and, exactly, by root finding on the residual sum of squares with
# the linear parameter solved for.
puromycin <- subset(Puromycin, state == "treated")
fits <- list(
  puromycin = list(d = data.frame(x = puromycin$conc, y = puromycin$rate), shape = function(x, b) x / (b + x),
    start = c(200, 0.05), top = 10),
  bod = list(d = data.frame(x = BOD$Time, y = BOD$demand), shape = function(x, b) 1 - exp(-b * x),
    start = c(20, 0.5), top = 1e4))
for (name in names(fits)) {
  f <- fits[[name]]; d <- f$d; n <- nrow(d)
  shape <- f$shape
  fit <- nls(y ~ a * shape(x, b), d, start = list(a = f$start[1], b = f$start[2]),
    control = nls.control(tol = 1e-7, nDcentral = TRUE))
  a <- coef(fit)[["a"]]; b <- coef(fit)[["b"]]; rss <- deviance(fit)
  cat(sprintf("%s: a %.8f b %.10f rss %.8f\n", name, a, b, rss))
  of_b <- function(b) { s <- f$shape(d$x, b); sum((d$y - s * sum(s * d$y) / sum(s^2))^2) }
  of_a <- function(a) optimize(function(lb) sum((d$y - a * f$shape(d$x, exp(lb)))^2), log(c(1e-4, f$top)), tol = 1e-12)$objective
  for (level in c(0.8, 0.9, 0.95)) {
    t <- qt(0.5 + level / 2, n - 2); high <- rss * (1 + t^2 / (n - 2))
    ends <- function(g, at, low, top) sapply(list(c(low, at), c(at, top)), function(r) tryCatch(
      uniroot(function(v) g(v) - high, r, tol = 1e-12)$root, error = function(e) NA))
    by_splines <- tryCatch(suppressMessages(as.vector(t(confint(fit, level = level)))), error = function(e) rep(NA, 4))
    cat(sprintf("%.2f chisq level %.10f exact a %.6f %.6f b %.8f %.8f confint a %.6f %.6f b %.8f %.8f\n", level,
      pchisq(t^2, 1), ends(of_a, a, 1, 1000)[1], ends(of_a, a, 1, 1000)[2], ends(of_b, b, 1e-4, f$top)[1],
      ends(of_b, b, 1e-4, f$top)[2], by_splines[1], by_splines[2], by_splines[3], by_splines[4]))
  }
}

# Bootstrap intervals: the law schools of Efron and Tibshirani 1993 (An Introduction to the Bootstrap, table 3.1, from
# memory; its correlation, 0.776, agrees), and failures of air conditioners (boot's aircondit). 40 runs of 20000
# resamples: mean of each limit, and the standard deviation between runs.
law <- data.frame(lsat = c(576, 635, 558, 578, 666, 580, 555, 661, 651, 605, 653, 575, 545, 572, 594),
  gpa = c(3.39, 3.30, 2.81, 3.03, 3.44, 3.07, 3.00, 3.43, 3.36, 3.13, 3.12, 2.74, 2.76, 2.88, 2.96))
cat(sprintf("law correlation %.8f\n", cor(law)[1, 2]))
statistics <- list(
  law = list(law, function(d, i) { x <- d$lsat[i]; y <- d$gpa[i]; cov(x, y) / sqrt(var(x) * var(y)) }),
  aircondit = list(aircondit, function(d, i) mean(d$hours[i])))
set.seed(1)
for (name in names(statistics)) {
  s <- statistics[[name]]
  L <- empinf(data = s[[1]], statistic = s[[2]], stype = "i", type = "jack")
  runs <- replicate(40, { r <- boot(s[[1]], s[[2]], 20000)
    ci <- boot.ci(r, conf = 0.9, type = c("perc", "bca"), L = L); c(ci$percent[4:5], ci$bca[4:5]) })
  cat(sprintf("%s %s: %.6f (%.6f)\n", name, c("percentile lower", "percentile upper", "bca lower", "bca upper"),
    rowMeans(runs), apply(runs, 1, sd)), sep = "")
}

# Collinearity index of Brun, Reichert and Kuensch 2001 for three columns: 1/sqrt of the least eigenvalue.
S <- cbind(c(1, 2, 3, 4, 5), c(1, 1, 2, 3, 4), c(5, 3, 4, 1, 2))
index <- function(S) { S <- scale(S, FALSE, sqrt(colSums(S^2))); 1 / sqrt(min(eigen(crossprod(S))$values)) }
cat(sprintf("collinearity %.10f %.10f %.10f %.10f\n", index(S), index(S[, 1:2]), index(S[, c(1, 3)]), index(S[, 2:3])))
