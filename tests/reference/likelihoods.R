# Reference likelihoods for Lagstep's tests: nlme's gls with trends, and a likelihood written out here for what gls
# lacks (Matern, nested, anisotropic), on the data sets of make_reference.R.
# Debian: r-base-core r-cran-nlme r-cran-fields r-cran-jsonlite.  Run: Rscript likelihoods.R OUTDIR (where the CSV are)
suppressMessages({library(nlme); library(fields); library(jsonlite)})
out <- commandArgs(TRUE)[1]; if (is.na(out)) out <- "."
ox <- read.csv(file.path(out, "oxford.csv")); me <- read.csv(file.path(out, "meuse.csv"))
data <- list(
  "oxford log PHOS1" = data.frame(x = ox$XCOORD, y = ox$YCOORD, z = log(ox$PHOS1)),
  "oxford OM1" = data.frame(x = ox$XCOORD, y = ox$YCOORD, z = ox$OM1),
  "meuse log zinc" = data.frame(x = me$x, y = me$y, z = log(me$zinc), sqrt_dist = sqrt(me$dist)))
trends <- list(constant = z ~ 1, linear = z ~ x + y, "sqrt(dist)" = z ~ sqrt_dist, "sqrt(dist) + linear" = z ~ sqrt_dist + x + y)

# --- nlme's gls -----------------------------------------------------------------------------------------------------
cor_struct <- list(Sph = corSpher, Exp = corExp, Gau = corGaus)
start <- c(Sph = 500, Exp = 200, Gau = 250)
fits <- list()
for (d in names(data)) for (tr in names(trends)) {
  if (grepl("dist", tr) && !grepl("meuse", d)) next
  for (k in names(cor_struct)) for (meth in c("REML", "ML")) {
    g <- NULL
    for (s in c(1, 2, .5)) for (nu in c(.4, .1)) {
      h <- try(gls(trends[[tr]], data[[d]], correlation = cor_struct[[k]](c(start[[k]] * s, nu), form = ~x + y, nugget = TRUE), method = meth,
        control = glsControl(msTol = 1e-12, tolerance = 1e-9, opt = "optim")), silent = TRUE)
      if (!inherits(h, "try-error") && (is.null(g) || logLik(h) > logLik(g) + 1e-7)) g <- h
    }
    if (is.null(g)) next
    p <- coef(g$modelStruct$corStruct, unconstrained = FALSE); a <- g$apVar
    fits[[length(fits) + 1]] <- list(data = d, trend = tr, model = k, method = meth, range = p[[1]], nugget_share = p[[2]],
      sill = g$sigma^2, beta = as.list(unname(coef(g))), beta_variance = unname(vcov(g)), logLik = as.numeric(logLik(g)),
      # ln range, logit nugget share, ln sigma: nlme's unconstrained parameters
      ap_var = if (is.numeric(a)) unname(matrix(a, 3, 3)) else NULL,
      ap_var_at = if (is.numeric(a)) as.list(unname(attr(a, "Pars"))) else NULL,
      AIC = AIC(g))
  }
}

# --- written out ----------------------------------------------------------------------------------------------------
corr <- function(kind, a, h, nu = 1.5) switch(kind,
  spherical = ifelse(h < a, 1 - 1.5 * h / a + .5 * (h / a)^3, 0),
  exponential = exp(-3 * h / a), gaussian = exp(-3 * (h / a)^2),
  matern = { t <- uniroot(function(t) Matern(t, smoothness = nu) - exp(-3), c(.5, 40), tol = 1e-13)$root; Matern(h * t / a, smoothness = nu) })
stretched <- function(xy, ratio, degrees) { f <- degrees * pi / 180; cbind((cos(f) * xy[, 1] - sin(f) * xy[, 2]) / ratio, sin(f) * xy[, 1] + cos(f) * xy[, 2]) }
written <- function(d, formula, p, restricted, sill = NULL) {
  xy <- as.matrix(d[, c("x", "y")]); if (!is.null(p$ratio)) xy <- stretched(xy, p$ratio, p$direction)
  h <- as.matrix(dist(xy)); share <- if (is.null(p$long_share)) 0 else p$long_share
  R <- (1 - p$nugget_share) * ((1 - share) * corr(p$kind, p$range, h, p$smoothness) + (if (share > 0) share * corr(p$kind, p$long_range, h, p$smoothness) else 0))
  diag(R) <- 1
  L <- try(chol(R), silent = TRUE); if (inherits(L, "try-error")) return(list(value = -1e10))
  # Coordinates as they are: X is left unscaled, since ln|X'R^-1 X| belongs to the value.
  X <- model.matrix(formula, d); n <- nrow(X); q <- ncol(X)
  u <- backsolve(L, X, transpose = TRUE); v <- backsolve(L, d$z, transpose = TRUE)
  k <- qr(u, tol = 1e-14); S <- sum(qr.resid(k, v)^2); dof <- if (restricted) n - q else n
  if (is.null(sill)) sill <- S / dof
  value <- -.5 * (dof * log(2 * pi * sill) + 2 * sum(log(diag(L))) + S / sill + (if (restricted) 2 * sum(log(abs(diag(qr.R(k))))) else 0))
  list(value = value, sill = sill, beta = qr.coef(k, v))
}
points <- list(
  list(kind = "matern", smoothness = .5, range = 700, nugget_share = .2), list(kind = "matern", smoothness = 1.5, range = 700, nugget_share = .2),
  list(kind = "matern", smoothness = 2.5, range = 500, nugget_share = .35), list(kind = "matern", smoothness = .8, range = 900, nugget_share = .1),
  list(kind = "matern", smoothness = 3.3, range = 600, nugget_share = .3), list(kind = "gaussian", range = 500, nugget_share = .25),
  list(kind = "spherical", range = 800, nugget_share = .15, ratio = .5, direction = 40), list(kind = "exponential", range = 1200, nugget_share = .3, ratio = .7, direction = 150),
  list(kind = "spherical", range = 250, nugget_share = .1, long_range = 1500, long_share = .6), list(kind = "exponential", range = 300, nugget_share = .2, long_range = 2000, long_share = .5, ratio = .6, direction = 100))
at <- list()
for (d in names(data)) for (tr in c("constant", "linear")) for (p in points) for (restricted in c(TRUE, FALSE)) {
  w <- written(data[[d]], trends[[tr]], p, restricted)
  at[[length(at) + 1]] <- c(list(data = d, trend = tr, method = if (restricted) "REML" else "ML"), p, list(value = w$value, sill = w$sill, beta = as.list(unname(w$beta))))
}

# Maxima by optim, from several starts.
logistic <- function(t) 1 / (1 + exp(-t))
maximum <- function(d, tr, restricted, make, starts) { best <- NULL
  for (s in starts) { o <- optim(s, function(t) -written(data[[d]], trends[[tr]], make(t), restricted)$value, control = list(reltol = 1e-11, maxit = 1500))
    if (is.null(best) || o$value < best$value) best <- o }
  c(list(data = d, trend = tr, method = if (restricted) "REML" else "ML"), make(best$par), list(value = -best$value)) }
kinds <- list(
  list(make = function(t) list(kind = "matern", smoothness = 1.5, range = exp(t[1]), nugget_share = logistic(t[2])), starts = list(c(6, -1), c(7, -1), c(5.5, 0))),
  list(make = function(t) list(kind = "matern", smoothness = 2.5, range = exp(t[1]), nugget_share = logistic(t[2])), starts = list(c(6, -1), c(7, -1), c(5.5, 0))),
  list(make = function(t) list(kind = "exponential", range = exp(t[1]), nugget_share = logistic(t[2]), ratio = logistic(t[3]), direction = t[4] * 100), starts = list(c(7, -1, 0, .45), c(7, -1, 0, 1.35), c(6, -1, 1, 0))),
  list(make = function(t) list(kind = "spherical", range = exp(t[1]), nugget_share = logistic(t[2]), ratio = logistic(t[3]), direction = t[4] * 100), starts = list(c(7, -1, 0, .45), c(7, -1, 0, 1.35), c(6.5, -1, 1, 0))))
maxima <- list()
for (d in names(data)) for (k in kinds) maxima[[length(maxima) + 1]] <- maximum(d, "constant", TRUE, k$make, k$starts)

# Observed information by optimHess of the written-out likelihood, in ln effective range, logit nugget share, ln sill.
information <- list()
for (d in names(data)) for (tr in c("constant", "linear")) for (k in c("spherical", "exponential")) for (restricted in c(TRUE, FALSE)) {
  f <- function(t) -written(data[[d]], trends[[tr]], list(kind = k, range = exp(t[1]), nugget_share = logistic(t[2])), restricted, exp(t[3]))$value
  # Off the grid's own distances, where the spherical's second derivative jumps.
  t0 <- c(log(if (k == "spherical") 655 else 820), -.9, log(written(data[[d]], trends[[tr]], list(kind = k, range = 700, nugget_share = .25), restricted)$sill))
  H <- optimHess(t0, f, control = list(ndeps = rep(3e-4, 3)))
  information[[length(information) + 1]] <- list(data = d, trend = tr, kind = k, method = if (restricted) "REML" else "ML", at = as.list(t0), hessian = unname(H))
}
write(toJSON(list(versions = list(R = R.version.string, nlme = as.character(packageVersion("nlme")), fields = as.character(packageVersion("fields"))),
  gls = fits, written = at, maxima = maxima, information = information), digits = 14, auto_unbox = TRUE, null = "null"), file.path(out, "likelihoods.json"))
