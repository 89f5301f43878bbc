#!/usr/bin/env Rscript
# The main charts of both notebooks in base R, read through ncdf4: for those who go on in R.
#
#     Rscript curves.R FOLDER
#
# FOLDER holds what the notebooks left: hollow-creek.h5 (a run) and haiti-fit.h5 (a fit). Writes curves-run.pdf, curves-fit.pdf
# and the same as .png to it, and numbers-from-R.csv, by which `run` sees that R reads what xarray reads. Needs R 4.
# Wants Debian's r-base-core and r-cran-ncdf4. Dimensions come in the reverse order of Python: time first, treatment last.

library(ncdf4)

folder <- commandArgs(trailingOnly = TRUE)
if (length(folder) != 1 || !dir.exists(folder)) stop("usage: Rscript curves.R FOLDER")
files <- file.path(folder, c("hollow-creek.h5", "haiti-fit.h5"))
if (!all(file.exists(files))) stop("missing: ", paste(files[!file.exists(files)], collapse = ", "), "; run the notebooks first")
run <- nc_open(files[1])
fit <- nc_open(files[2])

lb_acre <- 4046.8564224 / 453.59237                    # from g m-2
okabe_ito <- palette.colors(palette = "Okabe-Ito")     # of R itself; dashes say the same once more, for grey prints
colours <- unname(okabe_ito[c("black", "vermillion", "blue", "bluishgreen", "orange")])
dashes <- c("solid", "longdash", "dotted", "dotdash", "dashed")

dates <- function(file) {
  of <- strsplit(ncatt_get(file, "time", "units")$value, " ")[[1]]  # "days since 2012-10-20 ..."
  stopifnot(of[1] == "days")
  as.Date(of[3]) + as.vector(ncvar_get(file, "time"))
}

band <- function(x, low, high, colour) {
  polygon(c(x, rev(x)), c(low, rev(high)), col = adjustcolor(colour, 0.16), border = NA)
}

# Each chart to PDF and PNG.
chart <- function(name, width, height, draw) {
  pdf(file.path(folder, paste0(name, ".pdf")), width, height)
  draw()
  dev.off()
  png(file.path(folder, paste0(name, ".png")), width, height, units = "in", res = 100)
  draw()
  invisible(dev.off())
}

draw_run <- function() {
  treatment <- ncvar_get(run, "treatment")
  time <- dates(run)
  panels <- list(
    list("mass_left", 100, "residue left, % of the harvest", c(0, 105), NA),
    list("nitrogen_released", lb_acre, "net N released, lb/acre\n(below 0: tied up)", NULL, 0),
    list("potassium_released", lb_acre / 0.8301, "K2O released, lb/acre", NULL, NA),
    list("soil_cover", 100, "soil covered by residue, %", c(0, 105), 30))
  par(mfrow = c(2, 2), mar = c(4, 5.2, 1.2, 1.8), las = 1)
  for (p in panels) {
    value <- p[[2]] * ncvar_get(run, p[[1]])
    low <- p[[2]] * ncvar_get(run, paste0(p[[1]], "_low"))
    high <- p[[2]] * ncvar_get(run, paste0(p[[1]], "_high"))
    limits <- if (is.null(p[[4]])) range(value, low[, 1], high[, 1]) else p[[4]]
    plot(range(time), limits, type = "n", xlab = "date", ylab = p[[3]], bty = "l")
    band(time, low[, 1], high[, 1], colours[1])
    if (!is.na(p[[5]])) abline(h = p[[5]])
    for (i in seq_along(treatment)) lines(time, value[, i], col = colours[i], lty = dashes[i], lwd = 1.8)
    planting <- grep("^planting", ncvar_get(run, "checkpoint"))
    abline(v = time[1] + ncvar_get(run, "checkpoint_day")[planting, 1], col = "grey50", lty = "dotted")
    if (p[[1]] == "mass_left") legend("topright", treatment, col = colours, lty = dashes, lwd = 1.8, bty = "n", cex = 0.8, seg.len = 3)
  }
}

draw_fit <- function() {
  curve <- ncvar_get(fit, "curve_treatment")
  bag <- paste(ncvar_get(fit, "residual_treatment"), ncvar_get(fit, "residual_placement"), sep = ", ")
  day <- as.numeric(dates(fit) - dates(fit)[1])
  estimate <- 100 * ncvar_get(fit, "curve_estimate")
  lower <- 100 * ncvar_get(fit, "curve_lower")
  upper <- 100 * ncvar_get(fit, "curve_upper")
  x <- ncvar_get(fit, "residual_day")
  y <- 100 * ncvar_get(fit, "residual_observed")
  sd <- 100 * ncvar_get(fit, "residual_sd")
  par(mfrow = c(1, 2), mar = c(4, 4.2, 2, 0.8), las = 1)
  for (residue in ncvar_get(fit, "treatment")) {
    plot(range(day), c(0, 112), type = "n", xlab = "days in the field, d", ylab = "mass left, % of the start", main = residue, bty = "l")
    mine <- which(startsWith(curve, paste0(residue, ",")))
    for (k in seq_along(mine)) {
      i <- mine[k]
      at <- which(bag == curve[i])
      band(day, lower[, i], upper[, i], colours[k])
      lines(day, estimate[, i], col = colours[k], lty = dashes[k], lwd = 1.8)
      arrows(x[at], y[at] - sd[at], x[at], y[at] + sd[at], angle = 90, code = 3, length = 0.03, col = colours[k])
      points(x[at], y[at], col = colours[k], pch = c(16, 15)[k])
    }
    legend("bottomleft", sub(".*, ", "", curve[mine]), col = colours[seq_along(mine)], lty = dashes[seq_along(mine)], lwd = 1.8,
           pch = c(16, 15)[seq_along(mine)], bty = "n", cex = 0.9, seg.len = 3)
  }
}

chart("curves-run", 9, 6.5, draw_run)
chart("curves-fit", 9, 3.8, draw_fit)

# Where the first, the middle and the last value of each stand tells orders of dimensions apart, which a sum does not.
numbers <- function(file, name, variables) {
  do.call(rbind, lapply(variables, function(variable) {
    value <- as.vector(ncvar_get(file, variable))
    data.frame(file = name, variable = variable, first = value[1], middle = value[length(value) %/% 2 + 1], last = value[length(value)],
               mean = mean(value))
  }))
}
told <- rbind(
  numbers(run, "hollow-creek.h5", c("mass_left", "mass_left_low", "mass_left_by_component", "nitrogen_released", "nitrogen_released_high",
                                    "potassium_released", "soil_cover", "stage_day", "weather_tmax")),
  numbers(fit, "haiti-fit.h5", c("unknown_estimate", "draws", "covariance", "curve_estimate", "curve_lower", "curve_upper",
                                 "residual_observed", "residual_sd", "model_aicc")))
for (column in c("first", "middle", "last", "mean")) told[[column]] <- sprintf("%.17g", told[[column]])
write.csv(told, file.path(folder, "numbers-from-R.csv"), row.names = FALSE, quote = FALSE)
cat("R", paste(R.version$major, R.version$minor, sep = "."), "read", ncvar_get(run, "treatment")[1], "...; charts are in", basename(folder), "\n")
invisible(nc_close(run))
invisible(nc_close(fit))
