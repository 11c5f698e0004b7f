"""The words of the trade: quantities with their units and ranges, events, dates, the glossary, the sources of figures,
and the sentences in which bad input is refused.

`quantities` are numbers that people may set, `coefficients` those of the model, `units` conversions and a reader's own units, `events` the
kinds of diary line, `dates` days and seasons, `refusals` the sentences for bad input, `notebook_display` the hook by which an object
shows itself in a notebook. Nothing here computes. It may use the ground alone (errors, files, chance, compiled, codes); everything else may use it.
"""
