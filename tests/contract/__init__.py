"""The commands as an outsider meets them: files in, lines and exit codes out, judged by figures worked out afresh."""
