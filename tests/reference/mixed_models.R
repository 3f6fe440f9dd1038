# Ten simulated trials by lme4 with Kenward and Roger's degrees of freedom, and by multcomp's step-down
# adjustment in a multivariate t. Made with R 4.2.2, lme4 1.1-31, pbkrtest 0.5.2, multcomp 1.4-22:
#
#     python tests/reference/test_mixed_models_of_r.py > values.csv
#     Rscript tests/reference/mixed_models.R values.csv > tests/reference/mixed_models_of_r.csv
#
# For each set point: difference, standard error, degrees of freedom, p-value of the set point alone and
# p-value adjusted over the sweep; for each trial the variances shared by a session and of its own.
suppressMessages({library(lme4); library(pbkrtest); library(multcomp)})
all <- read.csv(commandArgs(TRUE)[1])
cat("trial,point,difference,standard_error,df,alone,adjusted,shared,specific\n")
for (trial in unique(all$trial)) {
  d <- all[all$trial == trial, ]
  d$point <- factor(d$point); d$session <- factor(d$session)
  fit <- lmer(y ~ 0 + point + point:fitted + (1 | session), d,
              control = lmerControl(optCtrl = list(ftol_abs = 1e-14, xtol_abs = 1e-14)))
  k <- nlevels(d$point)
  L <- cbind(matrix(0, k, k), diag(k))
  shared <- as.numeric(VarCorr(fit)$session)
  specific <- sigma(fit)^2
  V <- as.matrix(vcovAdj(fit))
  df <- sapply(1:k, function(i) get_Lb_ddf(fit, L[i, ]))
  est <- as.numeric(L %*% fixef(fit)); se <- sqrt(diag(L %*% V %*% t(L)))
  alone <- 2 * pt(-abs(est / se), df)
  set.seed(1)
  joint <- glht(fit, linfct = L, vcov = V, df = round(mean(df)))
  adjusted <- summary(joint, test = adjusted("free", abseps = 1e-6, maxpts = 2e5))$test$pvalues
  for (i in 1:k)
    cat(sprintf("%s,%d,%.9f,%.9f,%.6f,%.8f,%.6f,%.12f,%.12f\n", trial, i - 1, est[i], se[i], df[i],
                alone[i], adjusted[i], shared, specific))
}
