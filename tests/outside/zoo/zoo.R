# Leave one out over the Zoo data with e1071's naive Bayes, laplace = 1: a line of seven posteriors for each animal.
# e1071 takes the classes' shares as they are, without adding one.
suppressPackageStartupMessages(library(e1071))
zoo <- read.csv(commandArgs(trailingOnly = TRUE)[1])
features <- setdiff(names(zoo), c("animal_name", "type"))
x <- as.data.frame(lapply(features, function(f)
  factor(zoo[[f]], levels = if (f == "legs") c(0, 2, 4, 5, 6, 8) else c(0, 1))))
names(x) <- features
type <- factor(zoo$type, levels = 1:7)
for (i in seq_len(nrow(zoo))) {
  model <- naiveBayes(x[-i, ], type[-i], laplace = 1)
  p <- predict(model, x[i, ], type = "raw")
  cat(paste(sprintf("%.17g", p), collapse = ","), "\n", sep = "")
}
