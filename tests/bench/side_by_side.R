# The cases of sideBySide.ts in R's gstat: reads what that wrote into DIR, writes CPU times (timings.json) and results there.
# Debian: r-base-core r-cran-gstat r-cran-sp r-cran-jsonlite.  Run: Rscript side_by_side.R DIR
for (p in c("gstat", "sp", "jsonlite")) if (!requireNamespace(p, quietly = TRUE)) { cat(p); quit(status = 3) }
suppressMessages({library(sp); library(gstat); library(jsonlite)})
dir <- commandArgs(TRUE)[1]
file <- function(name) file.path(dir, name)
say <- function(text) cat("  gstat:", text, "\n", file = stderr())
points <- function(name) { d <- read.csv(file(name)); coordinates(d) <- ~x + y; d }
cases <- fromJSON(file("cases.json"), simplifyDataFrame = FALSE)
times <- list()
# CPU seconds, user and system: three runs, one where a run is long.
timed <- function(id, run, long = 8) {
  all <- c()
  repeat { gc(FALSE); before <- proc.time(); value <- run(); after <- proc.time()
    all <- c(all, sum((after - before)[1:2]))
    if (length(all) == 3 || all[1] > long) break }
  say(paste0(id, ": ", paste(format(all, digits = 4), collapse = ", "), " s"))
  times[[id]] <<- I(all); value }
model <- function(m) vgm(m$psill, m$model, m$range, m$nugget)

bins <- list()
for (k in cases$variograms) {
  p <- points(k$points)
  run <- function() variogram(z ~ 1, p, cutoff = k$cutoff, width = k$width)
  # Every pair is looked at: the time goes with the square of the points. Beyond a minute a fifth of the points is taken.
  if (length(p) > 20000) {
    all <- p; p <- all[1:20000, ]
    seconds <- sum(system.time(run())[1:2]) * (length(all) / length(p))^2
    if (seconds <= 60) p <- all
  }
  v <- timed(k$id, run)
  bins[[k$id]] <- list(points = length(p), pairs = v$np, gamma = v$gamma)
}

for (k in cases$krigings) {
  p <- points(k$points); nodes <- points(k$nodes); m <- model(k$model)
  nmax <- if (is.null(k$neighbours)) Inf else k$neighbours
  out <- timed(k$id, function() krige(z ~ 1, p, nodes, m, nmax = nmax, debug.level = 0))
  writeBin(c(out$var1.pred, out$var1.var), file(paste0(k$id, ".bin")))
}

k <- cases$advice
grids <- lapply(k$grids, points); nodes <- points(k$nodes)
set.seed(1)
steps <- function() {
  for (a in k$analytes) {
    p <- points(a$points)
    v <- variogram(z ~ 1, p)
    fit <- suppressWarnings(fit.variogram(v, vgm(var(p$z) * .7, "Sph", max(v$dist) / 2, var(p$z) * .3)))
    # A fit that failed still has to be followed by the same work.
    if (any(fit$psill < 0) || any(fit$range < 0)) fit <- vgm(var(p$z) * .7, "Sph", max(v$dist) / 2, var(p$z) * .3)
    krige.cv(z ~ 1, p, fit, nfold = length(p), verbose = FALSE, debug.level = 0)
    for (i in seq_len(a$members)) {
      drawn <- vgm(fit$psill[2] * exp(rnorm(1) / 5), "Sph", fit$range[2] * exp(rnorm(1) / 3), fit$psill[1] * exp(rnorm(1) / 5))
      for (g in grids) krige(z ~ 1, g, nodes, drawn, block = c(k$block, k$block),
        nmax = if (length(g) > k$wholeUpTo) k$nearest else Inf, debug.level = 0)
    }
  }
}
timed("advice", steps)
write(toJSON(list(version = as.character(packageVersion("gstat")), times = times, bins = bins), digits = NA, auto_unbox = TRUE), file("timings.json"))
