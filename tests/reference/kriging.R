# Reference values of kriging from R's gstat on the meuse data that sp ships, and on invented points.
# Debian: r-base-core r-cran-gstat r-cran-sp r-cran-jsonlite.  Run: Rscript kriging.R OUTDIR
suppressMessages({library(sp); library(gstat); library(jsonlite)})
out <- commandArgs(TRUE)[1]; if (is.na(out)) out <- "."
data(meuse); data(meuse.grid)
# Coordinates near zero: a trend in them is then well conditioned in gstat too.
origin <- c(180000, 331000)
s <- data.frame(x = meuse$x - origin[1], y = meuse$y - origin[2], z = log(meuse$zinc), d = sqrt(meuse$dist))
g <- meuse.grid[c(17, 203, 555, 900, 1203, 1512, 1904, 2400, 2777, 3100), ]
at <- data.frame(x = g$x - origin[1], y = g$y - origin[2], d = sqrt(g$dist))
at[2, c("x", "y")] <- s[40, c("x", "y")] + c(3, -2) # close to a sample
samples <- s; coordinates(samples) <- ~x + y
nodes <- at; coordinates(nodes) <- ~x + y
parts <- function(m) { nug <- sum(m$psill[m$model == "Nug"]); p <- m[m$model != "Nug", ]
  list(nugget = nug, structures = lapply(seq_len(nrow(p)), function(i) list(model = as.character(p$model[i]), psill = p$psill[i], range = p$range[i], kappa = p$kappa[i], directionDeg = p$ang1[i], ratio = p$anis1[i]))) }
cases <- list()
case <- function(name, trend, m, formula, block = 0, nmax = Inf, maxdist = Inf) {
  k <- if (block > 0) krige(formula, samples, nodes, m, block = c(block, block), nmax = nmax, maxdist = maxdist, debug.level = 0)
       else krige(formula, samples, nodes, m, nmax = nmax, maxdist = maxdist, debug.level = 0)
  cases[[length(cases) + 1]] <<- list(name = name, trend = trend, model = parts(m), block = block, nmax = if (is.finite(nmax)) nmax else 0,
    maxdist = if (is.finite(maxdist)) maxdist else 0, pred = k$var1.pred, var = k$var1.var)
}
sph <- vgm(.59, "Sph", 942, .06)
case("ordinary, spherical", "constant", sph, z ~ 1)
case("ordinary, exponential", "constant", vgm(.7, "Exp", 400, .02), z ~ 1)
case("ordinary, gaussian", "constant", vgm(.55, "Gau", 500, .1), z ~ 1)
case("ordinary, matern 1.5", "constant", vgm(.6, "Mat", 250, .05, kappa = 1.5), z ~ 1)
case("ordinary, matern 1", "constant", vgm(.6, "Mat", 250, .05, kappa = 1), z ~ 1)
case("ordinary, nested", "constant", vgm(.2, "Exp", 300, add.to = vgm(.35, "Sph", 1200, .06)), z ~ 1)
case("ordinary, anisotropic", "constant", vgm(.59, "Sph", 1200, .06, anis = c(35, .4)), z ~ 1)
case("ordinary, anisotropic exponential", "constant", vgm(.59, "Exp", 500, .06, anis = c(120, .6)), z ~ 1)
case("ordinary, block", "constant", sph, z ~ 1, block = 60)
case("ordinary, anisotropic, block", "constant", vgm(.59, "Sph", 1200, .06, anis = c(35, .4)), z ~ 1, block = 60)
case("universal, x + y", "linear", sph, z ~ x + y)
case("universal, covariate", "covariate", vgm(.15, "Sph", 900, .05), z ~ d)
case("universal, x + y, block", "linear", sph, z ~ x + y, block = 60)
case("universal, anisotropic", "linear", vgm(.59, "Sph", 1200, .06, anis = c(35, .4)), z ~ x + y)
case("universal, x + y, nearest 20", "linear", sph, z ~ x + y, nmax = 20)
case("ordinary, within 250 m", "constant", sph, z ~ 1, maxdist = 250)
cv <- function(name, trend, m, formula) { k <- krige.cv(formula, samples, m, nfold = nrow(s), verbose = FALSE, debug.level = 0)
  list(name = name, trend = trend, model = parts(m), residual = k$residual, var = k$var1.var, zscore = k$zscore) }
loo <- list(cv("ordinary", "constant", sph, z ~ 1), cv("universal, x + y", "linear", sph, z ~ x + y),
  cv("universal, covariate", "covariate", vgm(.15, "Sph", 900, .05), z ~ d))
set.seed(11)
p <- data.frame(x = round(runif(500) * 1000, 2), y = round(runif(500) * 1000, 2)); p$z <- round(sin(p$x / 150) + cos(p$y / 200) + rnorm(500) / 3, 4)
q <- data.frame(x = round(runif(12) * 1000, 2), y = round(runif(12) * 1000, 2))
ps <- p; coordinates(ps) <- ~x + y; qs <- q; coordinates(qs) <- ~x + y
m <- vgm(.8, "Exp", 90, .15)
k <- krige(z ~ 1, ps, qs, m, nmax = 32, debug.level = 0)
write(toJSON(list(versions = list(R = R.version.string, gstat = as.character(packageVersion("gstat"))),
  samples = s, nodes = at, cases = cases, leaveOneOut = loo,
  nearest32 = list(model = parts(m), samples = p, nodes = q, pred = k$var1.pred, var = k$var1.var)),
  digits = NA, auto_unbox = TRUE, dataframe = "columns", na = "null"), file.path(out, "kriging.json"))
