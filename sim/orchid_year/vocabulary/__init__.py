"""The words of the trade: quantities with their units and ranges, events, dates, the glossary, the sources of figures,
and the sentences in which bad input is refused.

Nothing here computes. It may use the ground alone (errors, files, chance, compiled, codes); everything else may use it.
"""
