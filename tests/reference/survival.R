# Time to loss by R's package survival (Debian: r-base-core, r-cran-survival), to be told again by survival.c.
# Prints, per set of data that comes with the package and per set of many ties drawn here:
#   set NAME ROWS STEPS MEDIAN LOW HIGH, then ROWS lines "row DAYS LOST", then STEPS lines
#   "step DAYS AT_RISK LOST SURVIVAL STANDARD_ERROR LOW HIGH".
# And, for a share lost that nothing was known of before, quantiles of the beta distribution:
#   "beta LOST SCREWS LOW MID HIGH".
library(survival)

number <- function(x) ifelse(is.na(x), "nan", formatC(x, digits = 17, format = "g"))

tell <- function(name, days, lost) {
    fit <- survfit(Surv(days, lost) ~ 1, conf.type = "log-log")
    steps <- summary(fit)
    middle <- quantile(fit, 0.5)
    cat("set", name, length(days), length(steps$time), number(middle$quantile), number(middle$lower), number(middle$upper), "\n")
    cat(paste("row", days, as.integer(lost), "\n"), sep = "")
    cat(paste("step", steps$time, steps$n.risk, steps$n.event, number(steps$surv), number(steps$std.err),
        number(steps$lower), number(steps$upper), "\n"), sep = "")
}

for (group in levels(aml$x)) with(aml[aml$x == group, ], tell(paste0("aml-", group), time, status == 1))
for (group in 1:2) with(lung[lung$sex == group, ], tell(paste0("lung-", group), time, status == 2))
tell("lung", lung$time, lung$status == 2)
tell("veteran", veteran$time, veteran$status == 1)
tell("ovarian", ovarian$futime, ovarian$fustat == 1)
set.seed(20)
for (size in c(1, 2, 7, 60, 400)) tell(paste0("ties-", size), sample(0:20, size, TRUE), runif(size) < 0.4 | seq_len(size) == 1)

for (screws in c(3, 92, 2632)) for (share in c(0.25, 0.5)) {
    lost <- ceiling(share * screws)
    cat("beta", lost, screws, number(qbeta(c(0.025, 0.5, 0.975), lost, screws - lost)), "\n")
}
