# Reference values for the tests of src/describe and src/clean, by base R on the oxford and meuse data of the packages sp
# and gstat.  Run: Rscript describe.R OUTDIR
suppressMessages({library(sp); library(gstat); library(jsonlite)})
out <- commandArgs(TRUE)[1]; if (is.na(out)) out <- "."
data(oxford); data(meuse)
R <- list(version = R.version.string)

# Normal scores: Hazen's plotting position on mean ranks; qqnorm where no values are alike.
score <- function(x) qnorm((rank(x) - 0.5) / length(x))
R$scores <- list(POT1 = score(oxford$POT1), PHOS1 = score(oxford$PHOS1))
set.seed(3); skew <- round(rlnorm(40, 3, 0.8), 6)
R$qqnorm <- list(x = skew, score = qqnorm(skew, plot.it = FALSE)$x)

# Mean of the back-transformed normal score by adaptive integration between the knots; the tails by the rule stated in
# normalScore.ts: mean slope of the outer tenth, to the score +-4 or to 0.
x <- oxford$POT1; n <- length(x); v <- sort(unique(x)); s <- tapply(score(x), x, mean)[as.character(v)]; s <- as.numeric(s)
L <- length(v); m <- min(L - 1, max(2, ceiling(0.1 * n)))
slo <- (v[1 + m] - v[1]) / (s[1 + m] - s[1]); shi <- (v[L] - v[L - m]) / (s[L] - s[L - m])
bottom <- max(0, v[1] - slo * (s[1] + 4)); top <- v[L] + shi * (4 - s[L])
inv <- approxfun(c(-4, s, 4), c(bottom, v, top), rule = 2)
knots <- c(-Inf, -4, s, 4, Inf)
mean_of <- function(mu, va) sum(sapply(seq_len(length(knots) - 1), function(i)
  integrate(function(y) inv(y) * dnorm(y, mu, sqrt(va)), knots[i], knots[i + 1], rel.tol = 1e-10)$value))
R$backMean <- lapply(list(c(0, 1), c(0.5, 0.4), c(-1, 0.2), c(1.5, 0.7)), function(p) list(mean = p[1], variance = p[2], value = mean_of(p[1], p[2])))
R$backEnds <- list(bottom = bottom, top = top)

# Maximum likelihood of a left-censored lognormal distribution, by optim on the log-likelihood written out.
censored <- function(x, below) {
  y <- log(x)
  f <- function(p) -sum(dnorm(y[!below], p[1], exp(p[2]), log = TRUE)) - sum(pnorm(y[below], p[1], exp(p[2]), log.p = TRUE))
  o <- optim(c(mean(y), log(sd(y))), f, method = "BFGS", control = list(reltol = 1e-15, maxit = 1000))
  o <- optim(o$par, f, method = "Nelder-Mead", control = list(reltol = 1e-15, maxit = 5000))
  o <- optim(o$par, f, method = "BFGS", control = list(reltol = 1e-15, maxit = 1000))
  list(mean = o$par[1], sd = exp(o$par[2]), logLik = -o$value, below = sum(below))
}
p <- oxford$PHOS1; limit <- as.numeric(quantile(p, 0.4))
R$censored <- list(limit = limit, one = censored(ifelse(p < limit, limit, p), p < limit))
two <- ifelse(seq_along(p) %% 2 == 0, limit, limit / 2)
R$censored$two <- censored(ifelse(p < two, two, p), p < two)

# Moran's I with inverse distance to the six nearest, meuse log zinc.
z <- log(meuse$zinc); d <- as.matrix(dist(meuse[, c("x", "y")])); W <- matrix(0, nrow(d), nrow(d))
for (i in seq_len(nrow(d))) { j <- order(d[i, ])[2:7]; W[i, j] <- 1 / d[i, j] }
e <- z - mean(z)
R$moran <- list(i = length(z) / sum(W) * sum(W * outer(e, e)) / sum(e^2), expected = -1 / (length(z) - 1))

# Modified z-scores, and of the differences from the median of the eight nearest.
near <- sapply(seq_len(nrow(d)), function(i) median(z[order(d[i, ])[2:9]]))
dif <- z - near
R$outliers <- list(meuseMarginal = (z - median(z)) / mad(z), meuseLocal = (dif - median(dif)) / mad(dif))
write(toJSON(R, digits = 15, auto_unbox = TRUE, pretty = FALSE), file.path(out, "describe.json"))
