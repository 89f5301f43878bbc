# Golden numbers of tests/chains_test.cpp: R-hat and effective numbers of draws as the authors of the measures compute
# them. Run: Rscript tests/reference/effective_draws.R. Debian: r-base-core r-cran-posterior. Output of R 4.2.2 with
# posterior 1.4.0: effective_draws.txt beside this file.
suppressMessages(library(posterior))

# x[t] = memory x[t - 1] + noise, noise of a linear congruential generator, exact in double precision
sequences <- function(seed, memory, n, m, shift, step) {
  u <- seed
  x <- matrix(0, n, m)
  for (j in 1:m) {
    last <- 0
    for (i in 1:n) {
      u <- (1664525 * u + 1013904223) %% 2^32
      last <- memory * last + u / 2^32 - 0.5
      x[i, j] <- last
    }
  }
  x[, m] <- x[, m] + shift  # the last sequence lies apart
  if (step > 0) x <- floor(x / step)  # ties
  x
}

cases <- list(list(1, 0.7, 200, 4, 0, 0), list(2, 0.9, 101, 4, 0.5, 0.25), list(3, -0.3, 150, 6, 0, 0),
  list(4, 0.99, 120, 8, 0, 0))
cat(R.version.string, ", posterior", as.character(packageVersion("posterior")), "\n")
cat("// seed, memory, draws, sequences, shift, step; R-hat, of halves as they are; effective: bulk, tail, mean\n")
for (case in cases) {
  x <- do.call(sequences, case)
  cat(sprintf("{%s, %s},\n", paste(case, collapse = ", "), paste(sprintf("%.10g",
    c(rhat(x), rhat_basic(x), ess_bulk(x), ess_tail(x), ess_mean(x))), collapse = ", ")))
}
