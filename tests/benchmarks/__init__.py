"""How fast it is, printed as ratios and seconds; run with -m benchmark -s."""
