# Writes results as JSON with up to 17 digits; sourced by the scripts beside it.
number <- function(x) {
  if (is.na(x)) return("null")
  if (is.infinite(x)) return(if (x > 0) '"inf"' else '"-inf"')
  short <- sprintf("%.15g", x)
  if (as.numeric(short) == x) short else sprintf("%.17g", x)
}
numbers <- function(v) paste0("[", paste(vapply(as.numeric(v), number, ""), collapse = ", "), "]")
quoted <- function(s) paste0('"', gsub('"', '\\"', s, fixed = TRUE), '"')
# Named lists become objects, strings strings, single numbers numbers, longer ones and matrices (row
# by row) lists. I() keeps a single number a list.
json <- function(x, indent = "") {
  deeper <- paste0(indent, " ")
  if (is.list(x)) {
    fields <- vapply(names(x), function(n) paste0(deeper, quoted(n), ": ", json(x[[n]], deeper)), "")
    return(paste0("{\n", paste(fields, collapse = ",\n"), "\n", indent, "}"))
  }
  if (is.character(x)) {
    if (length(x) == 1 && !inherits(x, "AsIs")) return(quoted(x))
    return(paste0("[", paste(vapply(x, quoted, ""), collapse = ", "), "]"))
  }
  if (is.logical(x)) return(tolower(as.character(x)))
  if (is.matrix(x)) x <- I(as.numeric(t(x)))
  if (length(x) == 1 && !inherits(x, "AsIs")) number(as.numeric(x)) else numbers(x)
}
emit <- function(id, source, method, packages, rtol, results) {
  versions <- paste(vapply(packages, function(p) paste(p, packageVersion(p)), ""), collapse = ", ")
  whole <- list(id = id, data = I(paste0("data/", id, ".csv")), source = source, method = method,
    software = paste0(R.version.string, "; ", versions), suggested_rtol = rtol, results = results)
  writeLines(json(whole), paste0("../expected/", id, ".json"))
}
