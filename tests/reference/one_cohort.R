# The model of one_cohort.c for deSolve. Sourced with the repository as the working folder.
# Debian: r-base-core r-base-dev r-cran-desolve.
suppressMessages(library(deSolve))

# names inside the braces of an enum of the C source
names_in <- function(enum) {
  text <- paste(readLines("tests/reference/one_cohort.c"), collapse = " ")
  inside <- sub(paste0(".*enum ", enum, " \\{([^}]*)\\}.*"), "\\1", text)
  head(trimws(strsplit(inside, ",")[[1]]), -1)
}
parameter_names <- names_in("parameter")
pool_names <- names_in("pool")
driver_names <- names_in("driver")

compile <- function() {
  folder <- tempfile("one_cohort")
  dir.create(folder)
  file.copy("tests/reference/one_cohort.c", folder)
  old <- setwd(folder)
  on.exit(setwd(old))
  status <- system2(file.path(R.home("bin"), "R"), c("CMD", "SHLIB", "one_cohort.c"), stdout = FALSE)
  stopifnot(status == 0)
  dyn.load("one_cohort.so")
}

# defaults of docs/parameters.md with those of the corn stalk; the soil's consumers have the defaults of the field
defaults <- function() {
  rows <- strsplit(grep("^\\|", readLines("docs/parameters.md"), value = TRUE), "|", fixed = TRUE)
  rows <- lapply(rows, trimws)
  bare <- function(name) gsub("`", "", name)
  table <- Filter(function(r) length(r) == 10 && !is.na(suppressWarnings(as.numeric(r[5]))), rows)
  value <- setNames(as.numeric(sapply(table, `[`, 5)), bare(sapply(table, `[`, 2)))
  value[c("field_k_sol", "field_e_sol")] <- value[c("k_sol", "e_sol")]
  stalk <- Filter(function(r) length(r) == 6 && r[2] == "corn" && r[3] == "stalk", rows)
  value[bare(sapply(stalk, `[`, 4))] <- as.numeric(sapply(stalk, `[`, 5))
  value
}

# A climate: a matrix of drivers by day, kept alive by whoever runs under it.
daily_table <- function() {
  table <- t(as.matrix(read.table("tests/reference/daily_drivers.txt")))
  rownames(table) <- driver_names
  table
}
constant_days <- function(T, pore_filling, days) {
  day <- setNames(rep(0, length(driver_names)), driver_names)
  day[c("T_surface", "T_buried", "T_soil")] <- T
  day[c("wetness", "wind")] <- 1
  day["pore_filling"] <- pore_filling
  matrix(day, length(day), days, dimnames = list(driver_names, NULL))
}
set_climate <- function(table) {
  bytes <- as.double(table)
  .C("keep_days", bytes, length(bytes))
  invisible()
}

# State on the days asked for. `p`: named numbers; the integrator starts anew each day, where drivers jump.
run <- function(p, stocks, dry_matter, days, rtol, atol, method = "lsoda") {
  p <- p[parameter_names]
  x <- setNames(rep(0, length(pool_names)), pool_names)
  x[] <- .C("fresh_pools", as.double(p), x = as.double(x))$x * dry_matter
  x[names(stocks)] <- x[names(stocks)] + stocks
  each <- 0:max(days)
  out <- ode(x, each, "slopes", p, dllname = "one_cohort", initfunc = "initialise", method = method, rtol = rtol,
    atol = atol, events = list(func = "next_day", time = each), maxsteps = 1e5)
  stopifnot(nrow(out) == length(each))
  out[days + 1, -1, drop = FALSE]
}
