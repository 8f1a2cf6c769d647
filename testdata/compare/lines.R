# Fits twenty straight lines of 50,000 readings each, with standard errors.
source("timing.R")
set.seed(3)
x <- 2 + 8 * runif(50000)
y <- 3 * (x - 0.8) + 0.01 * rnorm(50000)
least(as.integer(commandArgs(TRUE)[1]), function() for (i in 1:20) summary(lm(y ~ x))$coefficients)
