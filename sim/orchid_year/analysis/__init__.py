"""What a record or a pair of them says: outcomes of each plant, comparisons of twins, knock-outs, reasons, sensitivity, and the story.

It also holds the shipped questions, and the calibration of a real window by weighing. Big sweeps run here in chunks, on processes
or on a cluster. It knows simulations and records; it draws nothing and prints nothing.
"""
