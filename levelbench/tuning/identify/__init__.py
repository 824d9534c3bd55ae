"""Models found from records: what was fitted, how surely, and what the record can't tell.

`result` is what every fit gives; `simple` fits processes with dead time; `residuals` asks whether what is left over is
noise; `excitation` says which parameter a record can tell, and what experiment would tell the others.
"""
