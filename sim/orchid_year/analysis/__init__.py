"""What a record or a pair of them says: outcomes of each plant, comparisons of twins, knock-outs, reasons, sensitivity, and the story.

`outcomes` reduces a record to a few numbers for each plant, `comparison` holds sides against each other, `knock_out` proves a cause,
`reasons` words it, `explain` says why twins differ, `story` tells one year, `sweep` runs many in chunks, on processes or on a cluster,
`sensitivity` finds what mattered, `calibration` learns a real window from weighings, `questions` are those shipped. It knows simulations and records; it draws nothing and prints nothing.
"""
