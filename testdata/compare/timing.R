# Times a piece of work: the least wall and processor time of some runs, in seconds.
least <- function(times, work) {
  all <- sapply(seq_len(times), function(i) system.time(work()))
  cat(sprintf("%.6f %.6f\n", min(all["elapsed", ]), min(all["user.self", ] + all["sys.self", ])))
}
