# More reference values for variograms: Bessel functions, Matérn and Gaussian models, directions with a band, lag
# boundaries, rank estimators, nested and other fits; on the CSV files beside this script (see make_reference.R).
# Debian: r-base-core r-cran-gstat r-cran-sp r-cran-fields r-cran-jsonlite.  Run: Rscript variograms.R
suppressMessages({library(sp); library(gstat); library(fields); library(jsonlite)})
ver <- list(R = R.version.string, gstat = as.character(packageVersion("gstat")), sp = as.character(packageVersion("sp")), fields = as.character(packageVersion("fields")))
bins <- function(v) v[, c("np", "dist", "gamma")]

# Bessel functions and log gamma: base R.
b <- expand.grid(nu = c(0, 0.1, 0.5, 0.8, 1, 1.5, 2, 3.3, 10, 40), x = c(1e-8, 1e-3, 0.05, 0.3, 1, 2.5, 10, 60, 400))
b$k <- besselK(b$x, b$nu); b <- b[is.finite(b$k), ]
g <- data.frame(nu = c(0.01, 0.1, 0.5, 0.8, 1, 1.5, 2.5, 3.3, 10, 99.5)); g$lgamma <- lgamma(g$nu)

# Models. gstat: Gau exp(-(h/a)^2); Mat M(h/a); Ste M(2 sqrt(kappa) h/a). fields: M(d/range).
h <- c(1, 10, 35, 80, 150, 300, 700)
line <- function(kind, kappa, range = 120) list(kind = kind, kappa = kappa, range = range, nugget = 0.3, psill = 1.7, h = h,
  gamma = variogramLine(vgm(1.7, kind, range, 0.3, kappa = kappa), dist_vector = h)$gamma)
models <- c(list(line("Sph", .5), line("Exp", .5), line("Gau", .5)), lapply(c(.5, 1.5, 2.5, .8, .3, 3.3), function(k) line("Mat", k)), lapply(c(.5, 1.5, 2.5, .8), function(k) line("Ste", k)))
two <- vgm(0.9, "Exp", 250, add.to = vgm(0.6, "Sph", 90, 0.2))
nested_line <- list(nugget = .2, structures = list(list(model = "Sph", psill = .6, range = 90), list(model = "Exp", psill = .9, range = 250)), h = h, gamma = variogramLine(two, dist_vector = h)$gamma)
matern <- lapply(c(.25, .5, .8, 1.5, 2.5, 4), function(nu) list(nu = nu, range = 70, h = h, rho = Matern(h, range = 70, smoothness = nu)))

# Estimators that gstat lacks, from their definitions over every pair.
pairs_of <- function(x, y, z) { i <- which(upper.tri(diag(length(z))), arr.ind = TRUE)
  p <- data.frame(dx = x[i[, 2]] - x[i[, 1]], dy = y[i[, 2]] - y[i[, 1]], dz = z[i[, 2]] - z[i[, 1]])
  p$h <- sqrt(p$dx^2 + p$dy^2)
  north <- p$dy > 0 | (p$dy == 0 & p$dx > 0); p$dz <- ifelse(north, p$dz, -p$dz); p[p$h > 0, ] }
classical <- function(d) mean(d^2) / 2
dowd <- function(d) 2.198 * median(abs(d))^2 / 2
# Rousseeuw & Croux 1993, by sorting every difference of two.
qn <- function(v) { n <- length(v); hh <- n %/% 2 + 1; 2.2191 * sort(abs(outer(v, v, "-")[upper.tri(diag(n))]))[hh * (hh - 1) / 2] }
genton <- function(d) if (length(d) < 2) NA else qn(d)^2 / 2
by_lag <- function(p, upper, f) { k <- cut(p$h, c(0, upper), labels = FALSE); r <- lapply(sort(unique(k[!is.na(k)])), function(b) { q <- p[which(k == b), ]; data.frame(np = nrow(q), dist = mean(q$h), gamma = f(q$dz)) })
  r <- do.call(rbind, r); r[!is.na(r$gamma), ] }
along <- function(p, alpha, tol, band) { a <- alpha * pi / 180; ux <- sin(a); uy <- cos(a); across <- abs(p$dx * uy - p$dy * ux); ahead <- abs(p$dx * ux + p$dy * uy)
  p[atan2(across, ahead) <= tol * pi / 180 & across <= band, ] }

one <- function(x, y, z, cutoff, width, boundaries, bands) {
  s <- data.frame(x, y, z); coordinates(s) <- ~x + y; p <- pairs_of(x, y, z); upper <- seq(width, cutoff, width)
  list(cutoff = cutoff, width = width, boundaries = boundaries,
    by_boundaries = bins(variogram(z ~ 1, s, boundaries = boundaries)),
    narrow = variogram(z ~ 1, s, cutoff = cutoff, width = width, alpha = c(30, 120), tol.hor = 13)[, c("np", "dist", "gamma", "dir.hor")],
    narrow_tolerance = 13,
    banded = lapply(bands, function(b) list(direction = b[1], tolerance = b[2], band = b[3], bins = by_lag(along(p, b[1], b[2], b[3]), upper, classical))),
    dowd = by_lag(p, upper, dowd), genton = by_lag(p, upper, genton),
    genton_north = by_lag(along(p, 0, 22.5, Inf), upper, genton))
}
ox <- read.csv("oxford.csv"); me <- read.csv("meuse.csv")
data <- list(
  "raw PHOS1" = list(x = ox$XCOORD, y = ox$YCOORD, z = ox$PHOS1, cutoff = 1000, width = 100), "raw MG1" = list(x = ox$XCOORD, y = ox$YCOORD, z = ox$MG1, cutoff = 1000, width = 100),
  "raw OM1" = list(x = ox$XCOORD, y = ox$YCOORD, z = ox$OM1, cutoff = 1000, width = 100), "log POT1" = list(x = ox$XCOORD, y = ox$YCOORD, z = log(ox$POT1), cutoff = 1000, width = 100),
  "log CEC1" = list(x = ox$XCOORD, y = ox$YCOORD, z = log(ox$CEC1), cutoff = 1000, width = 100),
  "meuse log zinc" = list(x = me$x, y = me$y, z = log(me$zinc), cutoff = 1500, width = 100))

model <- function(m) list(nugget = m$psill[1], structures = lapply(2:nrow(m), function(i) list(model = as.character(m$model[i]), psill = m$psill[i], range = m$range[i], kappa = m$kappa[i])), sse = attr(m, "SSErr"), singular = attr(m, "singular"))
fits <- function(d) { s <- data.frame(x = d$x, y = d$y, z = d$z); coordinates(s) <- ~x + y; v <- variogram(z ~ 1, s, cutoff = d$cutoff, width = d$width); c0 <- var(d$z)
  fit <- function(m, method = 7) suppressWarnings(fit.variogram(v, m, fit.method = method))
  f <- list()
  for (m in list(list("Gau", .5, 250), list("Mat", .5, 170), list("Mat", .8, 150), list("Mat", 1.5, 110), list("Mat", 2.5, 90), list("Ste", .8, 270), list("Ste", 1.5, 300)))
    f[[length(f) + 1]] <- c(method = 7, model(fit(vgm(.7 * c0, m[[1]], m[[3]], .3 * c0, kappa = m[[2]]))))
  for (method in c(1, 6)) f[[length(f) + 1]] <- c(method = method, model(fit(vgm(.7 * c0, "Sph", 500, .3 * c0), method)))
  nested <- list()
  for (k in list(c("Sph", "Sph"), c("Sph", "Exp"), c("Exp", "Sph"))) for (r in list(c(180, 800), c(250, 1500)))
    nested[[length(nested) + 1]] <- c(method = 7, model(fit(vgm(.4 * c0, k[2], r[2] / (if (k[2] == "Exp") 3 else 1), add.to = vgm(.3 * c0, k[1], r[1] / (if (k[1] == "Exp") 3 else 1), .3 * c0)))))
  list(bins = bins(v), single = f, nested = nested) }

out <- list(versions = ver, bessel = b, log_gamma = g, models = models, nested_line = nested_line, matern = matern,
  experimental = lapply(data[c("raw PHOS1", "meuse log zinc")], function(d) one(d$x, d$y, d$z, d$cutoff, d$width,
    boundaries = c(120, 150, 260, 400, 650, 1000), bands = list(c(0, 22.5, 80), c(45, 30, 150), c(100, 90, 120)))),
  fits = lapply(data, fits))
write(toJSON(out, digits = NA, auto_unbox = TRUE, pretty = TRUE, dataframe = "rows"), "variograms.json")
