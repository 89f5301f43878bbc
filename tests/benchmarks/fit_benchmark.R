# Rscript tests/benchmarks/fit_benchmark.R bags.txt: the fit of fit_benchmark.cpp by nls.lm of minpack.lm over the
# same model in compiled C under deSolve; prints "name value" a line, as that program does.
source("tests/reference/one_cohort.R")
suppressMessages(library(minpack.lm))
compile()
set_climate(daily_table())

bags <- read.table(commandArgs(TRUE)[1], header = TRUE)
fitted <- c("k_sol", "k_hol", "k_lig", "v_mm_d", "rind", "k_wash_sol")
lower <- c(0.005, 0.001, 0.0001, 0.01, 0.001, 0)
upper <- c(0.5, 0.3, 0.03, 20, 1, 0.5)
layers <- list(
  c(buried = 0, length_mm = 400, spacing_mm = 0, opening = 0), c(buried = 0, length_mm = 150, spacing_mm = 50, opening = 0.5),
  c(buried = 1, length_mm = 400, spacing_mm = 0, opening = 0), c(buried = 1, length_mm = 50, spacing_mm = 0, opening = 0))
base <- c(defaults(), pH = 6.5)
carbon_pools <- c("S", "Z", "H", "L", "B", "R")
days <- sort(unique(bags$day))

predict <- function(x, rtol, atol) {
  unlist(lapply(layers, function(layer) {
    p <- base
    p[names(layer)] <- layer
    p[fitted] <- x
    rowSums(run(p, c(A = 2, O = 4, O_sub = 3), 700, days, rtol, atol)[, carbon_pools]) / p[["carbon"]] / 700
  }))
}
time <- function(name, work, times = 3) {
  seconds <- sort(replicate(times, { t <- proc.time(); work(); sum((proc.time() - t)[1:2]) }))
  cat(name, seconds[(times + 1) / 2], seconds[1], seconds[times], "\n")
}

# the engine's own tolerance, with differences wide enough for its noise; and a tight one with narrow differences
for (way in list(list("r", 1e-7, 1e-8, 1e-6), list("r_tight", 1e-10, 1e-10, 1e-8))) {
  calls <- 0
  residual <- function(x) {
    calls <<- calls + 1
    (predict(x, way[[2]], way[[3]]) - bags$mass_left) / 0.01
  }
  name <- function(what) paste(way[[1]], what, sep = "_")
  start <- base[fitted]
  time(name("predict"), function() predict(start, way[[2]], way[[3]]), 5)
  fit <- NULL
  time(name("fit"), function() {
    calls <<- 0
    fit <<- nls.lm(start, lower, upper, residual,
      control = nls.lm.control(epsfcn = way[[4]], ftol = 1e-10, ptol = 1e-8, maxiter = 200))
  }, 1)
  cat(name("fit_evaluations"), calls, "\n")
  cat(sprintf("%s %.10g\n", name(paste0("at_", fitted)), unlist(fit$par)), sep = "")
  cat(sprintf("%s %.12g\n# %s\n", name("half_squares"), fit$deviance / 2, fit$message))
}
