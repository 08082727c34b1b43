# Reference figures of tests/set_time_published.rs: R with survival, KMsurv, lme4, numDeriv.
# Run in this folder: Rscript set_time.R > ../data/set_time_reference.csv
# It also writes ../data/turbine.csv, ../data/cosmesis.csv and ../data/set_time_lots.csv again.
suppressMessages({library(survival); library(KMsurv); library(lme4); library(numDeriv)})
options(digits = 15)
cat("# Made by tests/references/set_time.R with", R.version$version.string, ", survival",
    as.character(packageVersion("survival")), ", lme4", as.character(packageVersion("lme4")), "\n")
cat("case,scatter,name,value,std_error\n")
put <- function(case, scatter, name, value, se = NA)
  cat(paste(case, scatter, name, format(value, digits = 12), format(se, digits = 12), sep = ","), "\n", sep = "")
put_fit <- function(case, scatter, fit) {
  se <- sqrt(diag(vcov(fit)))
  names <- names(coef(fit))
  for (i in seq_along(names)) put(case, scatter, names[i], coef(fit)[[i]], se[[i]])
  put(case, scatter, "ln_scale", log(fit$scale), se[[length(se)]])
  put(case, scatter, "log_likelihood", fit$loglik[[2]])
}
tight <- survreg.control(rel.tolerance = 1e-13, maxiter = 200)

# Schmee & Hahn 1979: motorettes, right-censored, temperature in Celsius, + 273.2.
motors <- read.csv("../data/motors.csv")
motors$x <- 1000 / (motors$temp + 273.2)
for (dist in c("lognormal", "weibull"))
  put_fit("motors", dist, survreg(Surv(time, cens) ~ x, motors, dist = dist, control = tight))

# Meeker & Escobar 1998, table 1.5: turbine wheels, each looked at once (left or right).
seen <- with(turbine, rbind(
  data.frame(hours, set = 0, count = inspected - failed), data.frame(hours, set = 1, count = failed)))
seen <- seen[seen$count > 0, ]
write.csv(seen, "../data/turbine.csv", row.names = FALSE, quote = FALSE)
seen$y <- with(seen, Surv(ifelse(set == 1, NA, hours), ifelse(set == 1, hours, NA), type = "interval2"))
for (dist in c("lognormal", "weibull")) {
  fit <- survreg(y ~ 1, seen, weights = count, dist = dist, control = tight)
  se <- sqrt(diag(vcov(fit)))
  put("turbine", dist, "(Intercept)", coef(fit)[[1]], se[[1]])
  put("turbine", dist, "ln_scale", log(fit$scale), se[[2]])
  put("turbine", dist, "log_likelihood", fit$loglik[[2]])
}

# Finkelstein & Wolfe 1985: cosmetic change after two treatments, interval-censored (KMsurv, bcdeter).
data(bcdeter)
write.csv(bcdeter, "../data/cosmesis.csv", row.names = FALSE, quote = FALSE)
bcdeter$y <- with(bcdeter, Surv(ifelse(lower == 0, NA, lower), upper, type = "interval2"))
for (dist in c("lognormal", "weibull"))
  put_fit("cosmesis", dist, survreg(y ~ I(treat == 2), bcdeter, dist = dist, control = tight))

# Invented syringes of six lots, each looked at once: random intercept, lme4 and a likelihood by the
# trapezoidal rule, maximised with nlm and differentiated with numDeriv.
set.seed(1)
lots <- expand.grid(temp_K = c(348.15, 353.15, 358.15), ratio = c(0.45, 0.6, 0.75, 0.9, 1.1, 1.4, 1.8),
                    copy = 1:2, lot = 1:6)
R <- 8.314462618; reference <- 353.15
lots$x <- (1 / lots$temp_K - 1 / reference) / R
effect <- rnorm(6, 0, 0.25)
lots$time_s <- round(exp(log(600) + 240e3 * lots$x) * lots$ratio)
ln_set <- log(600) + 240e3 * lots$x + effect[lots$lot] + rnorm(nrow(lots), 0, 0.22)
lots$set <- as.integer(ln_set <= log(lots$time_s))
write.csv(lots[, c("lot", "temp_K", "time_s", "set")], "../data/set_time_lots.csv", row.names = FALSE, quote = FALSE)
lots$lower <- ifelse(lots$set == 1, 0, lots$time_s)
lots$upper <- ifelse(lots$set == 1, lots$time_s, Inf)
# The same with a look at two thirds of the time before: some become intervals.
twice <- lots
earlier <- round(twice$time_s * 2 / 3)
twice$lower <- ifelse(twice$set == 1 & ln_set > log(earlier), earlier, twice$lower)
twice$upper <- ifelse(ln_set <= log(earlier), earlier, twice$upper)
write.csv(twice[, c("lot", "temp_K", "lower", "upper")], "../data/set_time_intervals.csv", row.names = FALSE, quote = FALSE)

survival_of <- list(lognormal = function(z) pnorm(z, lower.tail = FALSE), weibull = function(z) exp(-exp(z)))
log_likelihood <- function(theta, data, dist) {
  s <- survival_of[[dist]]
  sum(sapply(split(data, data$lot), function(d) {
    # Trapezoidal rule over a smooth integrand that vanishes at both ends: exact to rounding.
    u <- seq(-9, 9, length.out = 601)
    logs <- sapply(u, function(z) {
      mu <- theta[1] + theta[2] * 1e5 * d$x + theta[4] * z
      sum(log(pmax(s((log(d$lower) - mu) / exp(theta[3])) - s((log(d$upper) - mu) / exp(theta[3])), 1e-300)))
    }) + dnorm(u, log = TRUE)
    max(logs) + log(sum(exp(logs - max(logs))) * (u[2] - u[1]))
  }))
}
for (dist in c("lognormal", "weibull")) for (case in c("lots", "twice")) {
  data <- if (case == "lots") lots else twice
  minus <- function(theta) -log_likelihood(theta, data, dist)
  found <- nlm(minus, c(log(600), 2.4, log(0.22), 0.25), gradtol = 1e-9, steptol = 1e-10, iterlim = 200)
  # Two Newton steps on numDeriv's derivatives: what nlm's differences leave.
  theta <- found$estimate
  for (step in 1:2) theta <- theta - solve(hessian(minus, theta), grad(minus, theta))
  se <- sqrt(diag(solve(hessian(minus, theta))))
  names <- c("(Intercept)", "energy", "ln_scale", "lot_sd")
  value <- theta; value[2] <- value[2] * 1e5; se[2] <- se[2] * 1e5
  value[4] <- abs(value[4])
  for (i in 1:4) put(case, dist, names[i], value[i], se[i])
  put(case, dist, "log_likelihood", -minus(theta))
  if (case == "lots") {
    link <- if (dist == "lognormal") "probit" else "cloglog"
    data$e <- data$x * 1e5; data$l <- log(data$time_s / 600)
    fit <- glmer(set ~ l + e + (1 | lot), data, family = binomial(link), nAGQ = 25,
      control = glmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-9)))
    scale <- 1 / fixef(fit)[["l"]]
    put("lots-lme4", dist, "(Intercept)", log(600) - fixef(fit)[[1]] * scale)
    put("lots-lme4", dist, "energy", -fixef(fit)[["e"]] * scale * 1e5)
    put("lots-lme4", dist, "ln_scale", log(scale))
    put("lots-lme4", dist, "lot_sd", fit@theta * scale)
    put("lots-lme4", dist, "log_likelihood", as.numeric(logLik(fit)))
  }
}
