# Rscript mantelhaen.R > mantelhaen_r.json     (base R only; data: R's own UCBAdmissions, and a small made table)
show <- function(name, x, correct) {
  t <- mantelhaen.test(x, correct = correct)
  tables <- paste(apply(x, 3, function(s) sprintf("[[%g,%g],[%g,%g]]", s[1,1], s[1,2], s[2,1], s[2,2])), collapse = ",")
  sprintf('{"name":"%s","correct":%s,"tables":[%s],"statistic":%.12g,"pValue":%.12g,"oddsRatio":%.12g}',
          name, tolower(correct), tables, t$statistic, t$p.value, t$estimate)
}
small <- array(c(2,5,6,1, 4,3,7,2, 9,6,3,4), dim = c(2,2,3))
near <- array(c(5,5,5,5, 6,6,4,4), dim = c(2,2,2))
cat(sprintf('{"r":"%s","cases":[\n%s\n]}\n', R.version.string, paste(c(
  show("UCBAdmissions", UCBAdmissions, TRUE), show("small", small, TRUE), show("near", near, TRUE)), collapse = ",\n")))
