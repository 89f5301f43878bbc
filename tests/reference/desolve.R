# Golden numbers of tests/desolve_reference_test.cpp: one cohort and its field, with a right-hand side written from
# docs/model.md alone (one_cohort.c), integrated by lsoda of deSolve (Soetaert, Petzoldt, Setzer 2010, from memory).
# Run from the repository: Rscript tests/reference/desolve.R > tests/reference/desolve.txt
# Lines: `case` name, place, climate, days; `set` parameter value, `piece` and `start` likewise; `pools` their names;
# `day` number, then the pools in g m-2.
source("tests/reference/one_cohort.R")
compile()

points <- list(
  default = c(),
  # as a fit might move them
  fitted = c(k_sol = 0.11, k_hol = 0.021, k_lig = 0.0041, k_dec = 0.07, p_lig = 1.4, tau_d = 12, v_mm_d = 0.45, rind = 0.035,
    e_hol = 0.38, a_rem = 0.3, k_wash_sol = 0.025, b_closed = 0.8, CN_mic = 9, k_som = 0.0008, contact = 0.3, soak_mm_d = 2.5,
    N_bg = 0.02, field_k_sol = 0.09, k_upt = 0.9, N_structure = 0.55, P_structure = 0.7, S_structure = 0.95))
pieces <- list(
  long = c(length_mm = 400, spacing_mm = 0, opening = 0), opened = c(length_mm = 150, spacing_mm = 50, opening = 0.5))
cases <- list(
  # nothing jumps: one long integration in a jar short of N, and one in a wet one that denitrifies
  list(name = "jar", buried = 1, climate = "constant", T = 20, filling = 0.55, days = c(10, 60, 300),
    piece = "opened", start = c(A = 0.5, O = 0.5), dry_matter = 600),
  list(name = "wet_jar", buried = 1, climate = "constant", T = 27, filling = 0.85, days = c(10, 60, 300),
    piece = "long", start = c(A = 2, O = 8), dry_matter = 300),
  # a year and a half of weather, urea and ammonium on top of surface residue
  list(name = "surface", buried = 0, climate = "table", days = c(5, 60, 180, 365, 548),
    piece = "opened", start = c(U_s = 3, A_s = 1.5, A = 2, O = 4, O_sub = 3), dry_matter = 700),
  list(name = "buried", buried = 1, climate = "table", days = c(5, 60, 180, 365, 548),
    piece = "long", start = c(A = 1, O = 1.5, O_sub = 3), dry_matter = 700))

say <- function(word, values) cat(sprintf("%s %s %.15g\n", word, names(values), values), sep = "")
cat("#", R.version.string, ", deSolve", as.character(packageVersion("deSolve")), "\n")
cat("pools", pool_names, "\n")
agree <- 0
for (case in cases) for (point in names(points)) {
  p <- defaults()
  p[names(points[[point]])] <- points[[point]]
  p[names(pieces[[case$piece]])] <- pieces[[case$piece]]
  p[c("pH", "buried")] <- c(6.5, case$buried)
  set_climate(if (case$climate == "table") daily_table() else constant_days(case$T, case$filling, max(case$days)))
  x <- run(p, case$start, case$dry_matter, case$days, 1e-11, 1e-11)
  # another method of deSolve, tighter: what is left of lsoda's own error
  other <- run(p, case$start, case$dry_matter, case$days, 1e-12, 1e-13, "ode45")
  agree <- max(agree, abs(x - other) / (1e-8 + 1e-7 * abs(other)))
  cat("case", case$name, point, if (case$buried) "buried" else "surface", case$climate, max(case$days),
    if (case$climate == "constant") c(case$T, case$filling), "\n")
  set <- setdiff(parameter_names, c("length_mm", "spacing_mm", "opening", "pH", "buried"))
  say("set", p[set])
  say("piece", p[c("length_mm", "spacing_mm", "opening", "pH")])
  say("start", c(case$start, dry_matter = case$dry_matter))
  for (i in seq_along(case$days)) cat("day", case$days[i], sprintf("%.13g", x[i, ]), "\n")
}
cat(sprintf("# lsoda at 1e-11 against ode45 at 1e-12: at most %.2g of 1e-8 + 1e-7 |x|\n", agree))
