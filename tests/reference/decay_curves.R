# Golden numbers of tests/decay_curves_test.cpp: the same curves fitted to published litterbag series by R's own
# nls, by nlsLM and nls.lm of minpack.lm (another Levenberg-Marquardt) and by gnls of nlme (generalised least squares,
# also with weights). The golden line is that of nls; the script stops where one of them differs in the fifth digit.
# Run: Rscript tests/reference/decay_curves.R > tests/reference/decay_curves.txt
# Debian: r-base-core r-cran-minpack.lm r-cran-nlme. Made with R 4.2.2, minpack.lm 1.2-3, nlme 3.1-162.
# Series as read from the papers' figures by Sarquis et al. 2022, doi:10.5194/essd-14-3471-2022.
suppressMessages({ library(minpack.lm); library(nlme) })

series <- list(
  # maize litter, buried 10 cm, ash-free mass left [%] at days; doi:10.1080/03650340.2019.1579903
  inner_mongolia = data.frame(t = c(0, 30, 60, 90, 120, 150, 180, 360, 540),
    m = c(100, 68.664, 50.699, 47.241, 43.427, 39.017, 37.224, 35.027, 32.710)),
  # maize, coarse mesh, rainy season, grassland site; doi:10.1016/j.apsoil.2016.05.007
  cerrado = data.frame(t = c(0, 14, 42, 70, 105, 140), m = c(100, 81.671, 46.868, 37.819, 27.676, 20.922)),
  # wheat straw, buried, fertilised with sewage sludge; doi:10.1007/s40093-014-0069-8
  omdurman = data.frame(t = c(0, 14, 28, 42, 56, 70, 84), m = c(100, 100, 96.03, 88.75, 79.82, 70.88, 59.96)))

recipes <- list(
  list("inner_mongolia", "exponential", m ~ M * exp(-k * t), list(k = 0.01, M = 100)),
  list("inner_mongolia", "asymptotic", m ~ M * (a + (1 - a) * exp(-k * t)), list(a = 0.3, k = 0.02, M = 100)),
  list("inner_mongolia", "double_exponential", m ~ M * (a * exp(-k1 * t) + (1 - a) * exp(-k2 * t)),
    list(a = 0.6, k1 = 0.03, k2 = 0.0005, M = 100)),
  list("inner_mongolia", "weibull", m ~ M * exp(-(k * t)^c), list(k = 0.01, c = 0.5, M = 100)),
  list("cerrado", "exponential", m ~ M * exp(-k * t), list(k = 0.01, M = 100)),
  list("cerrado", "double_exponential", m ~ M * (a * exp(-k1 * t) + (1 - a) * exp(-k2 * t)),
    list(a = 0.6, k1 = 0.03, k2 = 0.005, M = 100)),
  list("omdurman", "weibull", m ~ M * exp(-(k * t)^c), list(k = 0.008, c = 2, M = 100)))

# estimates and standard errors of each method against those of nls
same <- function(name, estimate, se, s) {
  worst <- max(abs(estimate / s[, 1] - 1), abs(se / s[, 2] - 1))
  if (worst > 2e-5) stop(name, " differs by ", worst)
}

one <- function(label, formula, d, start) {
  names <- names(start)
  # with derivatives, but for the Weibull curve, whose formula has none at t = 0; global, where gnls looks for it
  smooth <- label[[2]] != "weibull"
  left_at <<- if (smooth) deriv(formula[[3]], names, c(names, "t")) else function(k, c, M, t) M * exp(-(k * t)^c)
  model <- as.formula(sprintf("m ~ left_at(%s, t)", paste(names, collapse = ", ")))
  control <- nls.lm.control(ftol = 1e-15, ptol = 1e-15, maxiter = 1000)
  lm <- nlsLM(model, d, start, weights = 1 / sd^2, control = control)
  fit <- nls(model, d, as.list(coef(lm)), weights = 1 / sd^2, control = nls.control(tol = 1e-7, nDcentral = TRUE))
  s <- summary(fit)$coefficients
  same("nlsLM", coef(lm), summary(lm)$coefficients[, 2], s)
  if (smooth) {
    values <- function(p) do.call(left_at, c(as.list(p), list(t = d$t)))
    slopes <- function(p) attr(values(p), "gradient") / d$sd
    own <- nls.lm(coef(lm) * 1.02, fn = function(p) (c(values(p)) - d$m) / d$sd, jac = slopes, control = control)
    variance <- own$deviance / (nrow(d) - length(start))
    same("nls.lm", own$par, sqrt(diag(solve(crossprod(slopes(own$par)))) * variance), s)
    g <- gnls(model, d, start = coef(lm) * 1.001, weights = varFixed(~ sd^2), control = gnlsControl(nlsTol = 1e-5))
    same("gnls", coef(g), summary(g)$tTable[, 2], s)
  }
  cat(sprintf("{\"%s\", Curve::%s, {%s}, {%s}, %.8f, %.8f, %.8f},\n", label[[1]], label[[2]],
    paste(sprintf("%.8g", s[, 1]), collapse = ", "), paste(sprintf("%.8g", s[, 2]), collapse = ", "),
    as.numeric(logLik(fit)), AIC(fit), BIC(fit)))
}

cat("#", R.version.string, ", minpack.lm", as.character(packageVersion("minpack.lm")), ", nlme",
  as.character(packageVersion("nlme")), "\n")
for (recipe in recipes) {
  d <- transform(series[[recipe[[1]]]], sd = 1)
  one(recipe[1:2], recipe[[3]], d, recipe[[4]])
}
cat("# weighted: standard deviations 2, 2.5, 3 ... from date to date\n")
for (recipe in recipes[c(1, 3, 5)]) {
  d <- series[[recipe[[1]]]]
  d$sd <- 2 + 0.5 * (seq_along(d$t) - 1)
  one(recipe[1:2], recipe[[3]], d, recipe[[4]])
}
