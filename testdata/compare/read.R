# Reads the archive with read.csv, or with fread of data.table.
source("timing.R")
given <- commandArgs(TRUE)
if (given[2] == "fread") {
  suppressMessages(library(data.table))
  setDTthreads(as.integer(given[4]))
  least(as.integer(given[3]), function() fread(given[1]))
} else {
  least(as.integer(given[3]), function() read.csv(given[1]))
}
