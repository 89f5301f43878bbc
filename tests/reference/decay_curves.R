# Golden numbers of tests/decay_curves_test.cpp: the same curves fitted to published litterbag series by R's own
# nls and by nlsLM of minpack.lm (another Levenberg-Marquardt). Run: Rscript tests/reference/decay_curves.R
# Debian: r-base-core r-cran-minpack.lm. Output of R 4.2.2 with minpack.lm 1.2-3: decay_curves.txt beside this file.
# Series as read from the papers' figures by Sarquis et al. 2022, doi:10.5194/essd-14-3471-2022.
suppressMessages(library(minpack.lm))

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

cat(R.version.string, ", minpack.lm", as.character(packageVersion("minpack.lm")), "\n")
for (recipe in recipes) {
  d <- series[[recipe[[1]]]]
  lm <- nlsLM(recipe[[3]], d, recipe[[4]], control = nls.lm.control(ftol = 1e-15, ptol = 1e-15, maxiter = 1000))
  fit <- tryCatch(nls(recipe[[3]], d, as.list(coef(lm)), control = nls.control(tol = 1e-7, nDcentral = TRUE)),
    error = function(e) { cat("nls:", conditionMessage(e), "\n"); lm })
  s <- summary(fit)$coefficients
  stopifnot(all(abs(coef(lm) / coef(fit) - 1) < 1e-5))
  cat(sprintf("{\"%s\", Curve::%s, {%s}, {%s}, %.8f, %.8f, %.8f},\n", recipe[[1]], recipe[[2]],
    paste(sprintf("%.8g", s[, 1]), collapse = ", "), paste(sprintf("%.8g", s[, 2]), collapse = ", "),
    as.numeric(logLik(fit)), AIC(fit), BIC(fit)))
}
