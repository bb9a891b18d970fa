# Ordinary kriging variances over one cell of a square lattice of 12 x 12 points, all of them used, by gstat:
# of points, and of 18 m blocks, at a 16 x 16 midpoint lattice of the central cell. Rscript endlessLattice.R
suppressMessages({library(gstat); library(sp); library(jsonlite)})
over_cell <- function(h, m, block) {
  g <- expand.grid(x = (-6:5 + .5) * h, y = (-6:5 + .5) * h); g$z <- 1; coordinates(g) <- ~x + y
  q <- ((1:16) - .5) / 16 - .5
  e <- expand.grid(x = q * h, y = q * h); e <- rbind(e, data.frame(x = 0, y = 0)); coordinates(e) <- ~x + y
  v <- if (block > 0) krige(z ~ 1, g, e, m, block = c(block, block), debug.level = 0)$var1.var
       else krige(z ~ 1, g, e, m, debug.level = 0)$var1.var
  own <- v[1:256]
  list(mean = mean(own), p50 = median(own), p90 = unname(quantile(own, .9)), centre = v[257])
}
cases <- list()
for (p in list(c(.2, .8, 300), c(.5, .5, 150), c(0, 1, 200), c(.4, .6, 800))) for (k in c("Sph", "Exp", "Gau")) {
  if (k == "Gau" && p[1] == 0) next
  scale <- c(Sph = 1, Exp = 1 / 3, Gau = 1 / sqrt(3))[[k]]
  m <- vgm(p[2], k, p[3] * scale, p[1])
  cases[[length(cases) + 1]] <- list(model = k, nugget = p[1], psill = p[2], effective_range = p[3],
    by_spacing = lapply(c(30, 50, 75, 100, 142, 201, 284), function(h) list(spacing = h, point = over_cell(h, m, 0), block = over_cell(h, m, 18))))
}
write(toJSON(list(note = "12 x 12 points, all used; 16 x 16 places over the central cell; gstat's point variance holds the nugget, its block variance does not",
  block = 18, gstat = as.character(packageVersion("gstat")), cases = cases), auto_unbox = TRUE, digits = 10, pretty = 1), "endlessLattice.json")
