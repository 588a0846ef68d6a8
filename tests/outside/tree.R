# Decision trees by rpart, grown until they fit all they learn from, then cut back to four sizes: a line
# "right,questions" for each size. right: how many of the things not learnt from come out right; questions: how many
# features the tree looks at for one of them on average. Zoo: each animal by a tree of the others. Soybean: rows 308 to
# 683 by the tree of rows 1 to 307.
suppressPackageStartupMessages(library(rpart))
data <- read.csv(commandArgs(trailingOnly = TRUE)[1], na.strings = "?", colClasses = "character")
zoo <- "animal_name" %in% names(data)
data$animal_name <- NULL
names(data)[ncol(data)] <- "class"
data[] <- lapply(data, factor)
folds <- if (zoo) seq_len(nrow(data)) else list(308:nrow(data))
trees <- lapply(folds, function(test) rpart(class ~ ., data[-test, ], method = "class",
  control = rpart.control(minsplit = 2, minbucket = 1, cp = 0, xval = 0, maxcompete = 0)))

# What each node of a tree looks at: its own feature, then those that stand in for it, in order.
looks <- function(tree) {
  frame <- tree$frame
  inner <- frame$var != "<leaf>"
  size <- ifelse(inner, 1 + frame$ncompete + frame$nsurrogate, 0)
  from <- cumsum(c(0, size))
  at <- lapply(which(inner), function(i) rownames(tree$splits)[from[i] + seq_len(size[i])])
  setNames(at, row.names(frame)[inner])
}
# A feature that is unknown has been asked for all the same; one asked for twice counts once.
asked <- function(looks, leaf, known) {
  features <- character()
  node <- leaf %/% 2
  while (node >= 1) {
    order <- looks[[as.character(node)]]
    last <- match(TRUE, known[order], nomatch = length(order))
    features <- c(features, order[seq_len(last)])
    node <- node %/% 2
  }
  length(unique(features))
}

for (cp in c(0, 0.005, 0.01, 0.03)) {
  right <- questions <- 0
  for (i in seq_along(folds)) {
    rows <- folds[[i]]
    tree <- prune(trees[[i]], cp)
    at <- looks(tree)
    said <- tree$frame$yval
    tree$frame$yval <- as.numeric(row.names(tree$frame)) # below n stand 2 n and 2 n + 1
    ends <- predict(tree, data[rows, ], type = "vector")
    classes <- levels(data$class)[said[match(ends, tree$frame$yval)]]
    right <- right + sum(classes == data$class[rows])
    known <- !is.na(data[rows, ])
    for (k in seq_along(rows)) questions <- questions + asked(at, ends[k], known[k, ])
  }
  cat(right, ",", format(questions / sum(lengths(folds)), digits = 8), "\n", sep = "")
}
