# Reference figures of tests/mixed_published.rs: R 4.2.2, package nlme 3.1-162.
# Run in this folder: Rscript mixed_nlme.R
options(digits = 11)
suppressMessages(library(nlme))
loblolly <- read.csv("loblolly.csv"); loblolly$Seed <- factor(loblolly$Seed)
orange <- read.csv("orange.csv"); orange$Tree <- factor(orange$Tree)
indometh <- read.csv("indometh.csv"); indometh$Subject <- factor(indometh$Subject)

show_fit <- function(name, fit) {
  cat("-----", name, "\n")
  print(summary(fit)$tTable[, 1:2])
  print(VarCorr(fit))
  cat("log-likelihood", format(as.numeric(logLik(fit)), digits = 12), "\n")
  print(ranef(fit))
}
# nlme's defaults end the penalised step at a relative offset of 1e-3, which leaves three to five
# digits; this asks for all that its step halving allows.
tight <- function(offset) nlmeControl(pnlsTol = offset, tolerance = 1e-8, maxIter = 2000,
  pnlsMaxIter = 100, msTol = 1e-13, msMaxIter = 500, minScale = 1e-6)

show_fit("Loblolly", nlme(height ~ SSasymp(age, Asym, R0, lrc), loblolly,
  Asym + R0 + lrc ~ 1, Asym ~ 1 | Seed, start = c(101.447, -8.6276, -3.23371),
  method = "ML", control = tight(1e-9)))
show_fit("Orange", nlme(circumference ~ SSlogis(age, Asym, xmid, scal), orange,
  Asym + xmid + scal ~ 1, Asym ~ 1 | Tree, start = c(192, 728, 356),
  method = "ML", control = tight(1e-9)))
show_fit("Indometh", nlme(conc ~ SSbiexp(time, A1, lrc1, A2, lrc2), indometh,
  A1 + lrc1 + A2 + lrc2 ~ 1, list(Subject = pdDiag(A1 + lrc1 + A2 ~ 1)),
  start = c(2.8277, 0.7729, 0.4606, -1.3459), method = "ML", control = tight(3e-8)))

# A linear model, unbalanced: Loblolly from 10 years on, without rows 1, 2, 9, 16 and 17 of those.
late <- loblolly[loblolly$age >= 10, ][-c(1, 2, 9, 16, 17), ]
for (method in c("ML", "REML")) {
  show_fit(paste("Loblolly, straight lines,", method),
    lme(height ~ age, late, list(Seed = pdDiag(~age)), method = method,
    control = lmeControl(msMaxIter = 500, niterEM = 200)))
}

# The same kind of model with a standard deviation of 0: rows 1, 2, 9, 16 and 17 of Orange left out.
some <- orange[-c(1, 2, 9, 16, 17), ]
for (method in c("ML", "REML")) {
  show_fit(paste("Orange, straight lines,", method), lme(circumference ~ age, some,
    list(Tree = pdDiag(~age)), method = method,
    control = lmeControl(msMaxIter = 500, niterEM = 200)))
}
