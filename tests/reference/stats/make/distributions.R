# Makes ../expected/distributions.json: studentized range and noncentral t over a grid.
# Run by hand from this folder: Rscript distributions.R
# Needs R alone. Numbers are written with 17 digits.
number <- function(v) ifelse(is.infinite(v), ifelse(v > 0, '"inf"', '"-inf"'), sprintf("%.17g", v))
rows <- function(table) {
  columns <- lapply(table, number)
  lines <- do.call(paste, c(columns, sep = ", "))
  paste0("   [", lines, "]", collapse = ",\n")
}

# Fewer degrees of freedom or more groups are left out: there ptukey is off by 1e-6 to 3e-3
# (see studentized_range.py).
range <- expand.grid(
  q = c(0.2, 1, 2, 3, 4, 5, 7, 10, 25), groups = c(2, 3, 4, 6, 10, 25),
  df = c(8.5, 15, 30, 66, 250, 2000, Inf))
range$cdf <- ptukey(range$q, range$groups, range$df)
range$upper <- ptukey(range$q, range$groups, range$df, lower.tail = FALSE)

quantile <- expand.grid(
  probability = c(0.01, 0.5, 0.9, 0.95, 0.99, 0.999), groups = c(2, 3, 4, 6, 10, 25),
  df = c(12, 27, 66, 250, Inf))
quantile$q <- suppressWarnings(qtukey(quantile$probability, quantile$groups, quantile$df))
quantile <- quantile[is.finite(quantile$q), ] # its iteration fails at some low quantiles

t <- expand.grid(
  t = c(-8, -2, -0.3, 0, 0.7, 2, 4, 9, 25), df = c(1, 2, 3.7, 8, 20, 61, 400, 5000),
  noncentrality = c(-6, -1.5, 0, 0.4, 1, 2.8, 6, 15, 35))
t$cdf <- suppressWarnings(pt(t$t, t$df, t$noncentrality)) # warns that far tails lose precision
t$upper <- suppressWarnings(pt(t$t, t$df, t$noncentrality, lower.tail = FALSE))

writeLines(c(
  "{",
  ' "id": "distributions",',
  ' "data": [],',
  ' "source": "ptukey: Copenhaver & Holland, J. Stat. Comput. Simul. 30 (1988) 1-15. pt with ncp: algorithm AS 243, Lenth, Appl. Stat. 38 (1989) 185-189.",',
  ' "method": "ptukey, qtukey and pt over grids",',
  sprintf(' "software": "%s",', R.version.string),
  ' "suggested_rtol": 1e-6,',
  ' "notes": "Compare probabilities absolutely, quantiles relatively. qtukey stops when its steps fall below 1e-4; pt gives up relative precision in the tails.",',
  ' "results": {',
  '  "studentized_range_columns": ["q", "groups", "df", "cdf", "upper_tail"],',
  '  "studentized_range": [', rows(range), "  ],",
  '  "studentized_range_quantile_columns": ["probability", "groups", "df", "q"],',
  '  "studentized_range_quantile": [', rows(quantile), "  ],",
  '  "noncentral_t_columns": ["t", "df", "noncentrality", "cdf", "upper_tail"],',
  '  "noncentral_t": [', rows(t), "  ]",
  " }",
  "}"), "../expected/distributions.json")
