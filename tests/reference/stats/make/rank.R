# Makes ../expected/rank.json: rank tests and their estimates on made-up samples.
# Run by hand from this folder: Rscript rank.R
# Needs R with exactRankTests. Numbers are written with 17 digits.
suppressMessages(library(exactRankTests))

number <- function(v) ifelse(is.infinite(v), ifelse(v > 0, '"inf"', '"-inf"'), sprintf("%.17g", v))
list_of <- function(v) paste0("[", paste(number(v), collapse = ", "), "]")
object <- function(...) {
  o <- list(...)
  paste0("{", paste0('"', names(o), '": ', unlist(o), collapse = ", "), "}")
}
alternatives <- c("two.sided", "less", "greater")
three <- function(test) list_of(vapply(alternatives, function(a) suppressWarnings(test(a))$p.value, 0))
# wilcox.exact compares "less" and "greater" of conditional distributions; NA where it gives none
two_samples <- function(x, y) {
  tied <- anyDuplicated(c(x, y)) > 0
  exact <- if (tied) function(a) wilcox.exact(x, y, alternative = a) else function(a) wilcox.test(x, y, alternative = a, exact = TRUE)
  shift <- if (!tied) suppressWarnings(wilcox.test(x, y, exact = TRUE, conf.int = TRUE, conf.level = 0.9))
  d <- outer(x, y, function(a, b) sign(a - b))
  m <- length(x); n <- length(y); delta <- mean(d)
  # unbiased variance of delta, written by expectations of products of two cells
  same_row <- (sum(rowSums(d)^2) - sum(d^2)) / (m * n * (n - 1))
  same_column <- (sum(colSums(d)^2) - sum(d^2)) / (m * n * (m - 1))
  apart <- (sum(d)^2 - sum(rowSums(d)^2) - sum(colSums(d)^2) + sum(d^2)) / (m * n * (m - 1) * (n - 1))
  variance <- delta^2 - apart
  stopifnot(abs(variance - (mean(d^2) + (n - 1) * same_row + (m - 1) * same_column - (m + n - 1) * apart) / (m * n)) < 1e-12)
  s2 <- max(variance, (1 - delta^2) / (m * n - 1)); z <- qnorm(0.975)
  ends <- (delta - delta^3 + c(-1, 1) * z * sqrt(s2) * sqrt((1 - delta^2)^2 + z^2 * s2)) / (1 - delta^2 + z^2 * s2)
  object(x = list_of(x), y = list_of(y), statistic = number(unname(suppressWarnings(wilcox.test(x, y))$statistic)),
    exact = three(exact), normal = three(function(a) wilcox.test(x, y, alternative = a, exact = FALSE)),
    shift = number(median(outer(x, y, "-"))), shift_interval90 = if (tied) "null" else list_of(shift$conf.int),
    cliffs_delta = number(delta), cliffs_interval95 = list_of(ends))
}
one_sample <- function(x) {
  tied <- any(x == 0) || anyDuplicated(abs(x)) > 0
  kept <- x[x != 0]
  exact <- if (tied) function(a) wilcox.exact(kept, alternative = a) else function(a) wilcox.test(x, alternative = a, exact = TRUE)
  centre <- if (!tied) wilcox.test(x, exact = TRUE, conf.int = TRUE, conf.level = 0.9)
  walsh <- outer(x, x, "+") / 2
  object(x = list_of(x), statistic = number(unname(suppressWarnings(wilcox.test(x))$statistic)),
    exact = three(exact), normal = three(function(a) wilcox.test(x, alternative = a, exact = FALSE)),
    centre = number(median(walsh[lower.tri(walsh, diag = TRUE)])), interval90 = if (tied) "null" else list_of(centre$conf.int))
}
groups <- function(...) {
  g <- list(...); k <- kruskal.test(g)
  object(groups = paste0("[", paste(vapply(g, list_of, ""), collapse = ", "), "]"), statistic = number(unname(k$statistic)), df = number(unname(k$parameter)), p = number(k$p.value))
}

set.seed(19450)
draw <- function(n, shift, digits) round(rnorm(n, shift, 2), digits)
pairs <- list(c(3, 4, 0, 3), c(6, 6, 1, 3), c(9, 14, -1.5, 0), c(14, 9, 0.5, 1), c(20, 25, 0.8, 6), c(30, 30, 1, 0), c(5, 60, 1, 5), c(45, 40, 0.3, 6))
singles <- list(c(5, 1, 3), c(9, 0.7, 0), c(12, -0.4, 1), c(25, 0.5, 6), c(40, 0.3, 0), c(48, 0.6, 8))
writeLines(c(
  "{",
  ' "id": "rank",',
  ' "data": [],',
  ' "source": "own synthetic samples. Wilcoxon, Biometrics Bulletin 1 (1945) 80-83; Cliff, Psychological Bulletin 114 (1993) 494-509; Feng & Cliff, J. Mod. Appl. Stat. Methods 3 (2004) 322-332",',
  ' "method": "wilcox.test without ties, wilcox.exact with them (zeros dropped before); kruskal.test; Cliff\'s delta by its definition",',
  sprintf(' "software": "%s; exactRankTests %s",', R.version.string, packageVersion("exactRankTests")),
  ' "suggested_rtol": 1e-10,',
  ' "notes": "p values are two-sided, less, greater; null where ties leave no exact interval",',
  ' "results": {',
  '  "two_samples": [', paste0("   ", vapply(pairs, function(p) two_samples(draw(p[1], p[3], p[4]), draw(p[2], 0, p[4])), ""), collapse = ",\n"), "  ],",
  '  "one_sample": [', paste0("   ", vapply(singles, function(p) one_sample(draw(p[1], p[2], p[3])), ""), collapse = ",\n"), "  ],",
  '  "groups": [', paste0("   ", c(groups(draw(5, 0, 3), draw(6, 1, 3), draw(7, 2, 3)), groups(draw(8, 0, 0), draw(9, 1, 0), draw(4, 1, 0), draw(6, 3, 0))), collapse = ",\n"), "  ]",
  " }",
  "}"), "../expected/rank.json")
