# Rscript tests/benchmarks/side_by_side.R: the field "one_cohort" of fields.cpp by lsoda of deSolve over the compiled
# one_cohort.c, at the engine's tolerance; prints "name cpu_ms error", the error against a run at 1e-12.
source("tests/reference/one_cohort.R")
compile()
set_climate(daily_table())
p <- c(defaults(), length_mm = 150, spacing_mm = 50, opening = 0.5, pH = 6.5, buried = 0)
field <- function(rtol, atol, method = "lsoda") {
  run(p, c(U_s = 3, A_s = 1.5, A = 2, O = 4, O_sub = 3), 700, 0:548, rtol, atol, method)
}
exact <- field(1e-12, 1e-13, "ode45")
times <- 20
seconds <- sort(replicate(7, {
  t <- proc.time()
  for (i in seq_len(times)) field(1e-7, 1e-8)
  sum((proc.time() - t)[1:2]) / times
}))
cat("desolve_lsoda", 1000 * seconds[4], max(abs(field(1e-7, 1e-8) - exact) / (0.1 + abs(exact))), "\n")
