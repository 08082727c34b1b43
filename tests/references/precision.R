# Reference values of tests/precision_published.rs: restricted maximum likelihood of an unbalanced
# two-way design by lme4 1.1-31, with profile intervals of the restricted likelihood by refits.
# Debian: r-cran-lme4. Run: Rscript tests/references/precision.R
library(lme4)
cell <- factor(c(1,1,1,1,1,1,1,1,1,1,2,2,2,2,2,2,2,2,2,2,2))
op   <- factor(c(1,1,1,2,2,3,3,4,4,4,1,1,2,2,2,3,3,4,4,5,5))
bl   <- factor(c(1,1,2,1,2,1,2,2,2,1,1,2,1,2,2,1,2,1,2,1,2))
y <- c(0.31,0.35,0.42,0.12,0.20,0.55,0.61,0.02,0.06,-0.05,
       1.36,1.41,1.15,1.24,1.22,1.58,1.66,1.03,1.12,1.27,1.39)
m <- lmer(y ~ 0 + cell + (1|op) + (1|bl), REML = TRUE,
          control = lmerControl(optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-14)))
print(as.data.frame(VarCorr(m)), digits = 10)
print(logLik(m), digits = 12)

# profile of the restricted likelihood, dense matrices
X <- model.matrix(~ 0 + cell); Zo <- model.matrix(~ 0 + op); Zb <- model.matrix(~ 0 + bl)
ll <- function(v) {
  V <- v[1] * Zo %*% t(Zo) + v[2] * Zb %*% t(Zb) + v[3] * diag(length(y))
  Vi <- solve(V); A <- t(X) %*% Vi %*% X
  P <- Vi - Vi %*% X %*% solve(A) %*% t(X) %*% Vi
  as.numeric(-0.5 * ((length(y) - ncol(X)) * log(2 * pi) + determinant(V)$modulus +
    determinant(A)$modulus + t(y) %*% P %*% y))
}
best <- optim(log(c(0.04, 0.002, 0.001)), function(p) -ll(exp(p)), method = "BFGS",
              control = list(reltol = 1e-15, maxit = 1000))
print(exp(best$par), digits = 10); print(-best$value, digits = 12)
fall <- function(k, v) {
  o <- nlminb(best$par[-k], function(p) { q <- numeric(3); q[-k] <- exp(p); q[k] <- v; -ll(q) },
              lower = -16, upper = 6, control = list(rel.tol = 1e-14, eval.max = 2000, iter.max = 1000))
  -best$value + o$objective - qchisq(0.95, 1) / 2
}
for (k in 1:3) {
  e <- exp(best$par[k])
  lo <- if (fall(k, e * 1e-2) > 0) uniroot(function(v) fall(k, v), c(e * 1e-2, e), tol = 1e-13)$root else 0
  hi <- uniroot(function(v) fall(k, v), c(e, e * 400), tol = 1e-13)$root
  print(c(lo, hi), digits = 9)
}
