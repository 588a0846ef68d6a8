# Leave one out over the 342 penguins with sizes, e1071's naive Bayes with one normal distribution for each size and
# species (n - 1 variance): a line of posteriors, Adelie, Chinstrap, Gentoo.
suppressPackageStartupMessages(library(e1071))
penguins <- read.csv(commandArgs(trailingOnly = TRUE)[1])
sizes <- c("bill_length_mm", "bill_depth_mm", "flipper_length_mm", "body_mass_g")
penguins <- penguins[complete.cases(penguins[sizes]), ]
species <- factor(penguins$species, levels = c("Adelie", "Chinstrap", "Gentoo"))
for (i in seq_len(nrow(penguins))) {
  model <- naiveBayes(penguins[-i, sizes], species[-i])
  p <- predict(model, penguins[i, sizes], type = "raw")
  cat(paste(sprintf("%.17g", p), collapse = ","), "\n", sep = "")
}
