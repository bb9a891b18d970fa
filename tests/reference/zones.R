# Reference values for zones: k-means, fuzzy k-means, and intraclass intervals, on the oxford data (oxford.csv here).
# R's stats and nlme, and e1071's cmeans.  Debian: r-base-core r-cran-nlme r-cran-e1071.  Run here: Rscript zones.R
suppressMessages({library(nlme); library(e1071)})
num <- function(x) if (length(x) == 1) sprintf("%.14g", x) else paste0("[", paste(sprintf("%.14g", x), collapse = ", "), "]")
json <- function(x) if (is.list(x)) paste0("{", paste(sprintf('"%s": %s', names(x), vapply(x, json, "")), collapse = ", "), "}") else if (is.character(x)) sprintf('"%s"', x) else num(x)
ox <- read.csv("oxford.csv")
columns <- c("PHOS1", "POT1", "PH1", "MG1")
X <- sapply(columns, function(v) { z <- ox[[v]]; z <- z - mean(z); z / sqrt(mean(z^2)) })
n <- nrow(X)

set.seed(1)
hard <- lapply(setNames(2:6, 2:6), function(k) list(withinss = min(replicate(4, kmeans(X, k, nstart = 250, iter.max = 200)$tot.withinss))))

fuzzy_one <- function(k, m) {
  best <- NULL
  for (run in 1:20) {
    f <- cmeans(X, k, iter.max = 20000, m = m, control = list(reltol = 1e-15))
    d2 <- sapply(1:k, function(c) rowSums((X - rep(f$centers[c, ], each = n))^2))
    J <- sum(f$membership^m * d2)
    if (is.null(best) || J < best$J) best <- list(J = J, f = f)
  }
  u <- best$f$membership; ctr <- best$f$centers; ctr <- ctr[order(ctr[, 1]), , drop = FALSE]
  FF <- sum(u^2) / n; H <- -sum(u * log(u)) / n
  list(objective = best$J, centres = as.vector(t(ctr)), fpi = 1 - (k * FF - 1) / (k - 1), nce = H / log(k))
}
fuzzy <- list()
for (k in 2:4) for (m in c(1.5, 2)) fuzzy[[paste(k, m)]] <- fuzzy_one(k, m)

# Wald's exact interval, by root finding on the variance ratio; variance components by REML.
wald <- function(z, g, level) {
  nn <- tapply(z, g, length); mm <- tapply(z, g, mean); k <- length(nn); N <- length(z)
  msw <- sum((z - mm[g])^2) / (N - k)
  H <- function(theta) { w <- nn / (1 + nn * theta); sum(w * (mm - sum(w * mm) / sum(w))^2) / ((k - 1) * msw) }
  end <- function(p) { q <- qf(p, k - 1, N - k); if (H(0) <= q) 0 else { t <- uniroot(function(t) H(t) - q, c(0, 1e4), tol = 1e-14)$root; t / (1 + t) } }
  c(end((1 + level) / 2), end((1 - level) / 2))
}
within <- list(); loo <- list()
for (v in c("PHOS1", "POT1", "PH1", "MG1", "OM1", "CEC1")) {
  z <- ox[[v]]; g <- factor(ox$MAPCLASS)
  vc <- as.numeric(VarCorr(lme(z ~ 1, random = ~1 | g, data = data.frame(z, g)))[, "Variance"])
  sq <- sapply(seq_along(z), function(i) { o <- z[-i][g[-i] == g[i]]; c((z[i] - if (length(o)) mean(o) else mean(z[-i]))^2, (z[i] - mean(z[-i]))^2) })
  loo[[v]] <- list(within = mean(sq[1, ]), field = mean(sq[2, ]))
  within[[v]] <- list(wald80 = wald(z, g, .8), wald95 = wald(z, g, .95), reml = vc[1] / sum(vc))
}
# Classes of one size: the F interval in closed form, and aov.
z <- c(6.1, 5.9, 6.4, 6.2, 7.0, 7.3, 6.8, 7.1, 5.2, 5.6, 5.1, 5.5, 6.6, 6.3, 6.9, 6.0, 5.9, 6.2, 5.5, 6.1)
g <- factor(rep(1:5, each = 4)); a <- summary(aov(z ~ g))[[1]]; Fv <- a[1, 4]
ends <- sapply(c(.95, .05), function(p) { q <- Fv / qf(p, 4, 15); (q - 1) / (q + 3) })
balanced <- list(values = z, f = Fv, interval90 = ends)
grid <- expand.grid(p = c(.01, .1, .5, .9, .99), df1 = c(1, 3, 12), df2 = c(4, 30, 200))
fq <- list(p = grid$p, df1 = grid$df1, df2 = grid$df2, q = qf(grid$p, grid$df1, grid$df2))

write(json(list(R = R.version.string, e1071 = as.character(packageVersion("e1071")), nlme = as.character(packageVersion("nlme")),
  columns = paste(columns, collapse = " "), kmeans = hard, fuzzy = fuzzy, within = within, leave_one_out = loo, balanced = balanced, fquantile = fq)), "zones.json")
