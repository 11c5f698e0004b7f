"""One plant and its pot through one day: water, roots, leaves, crown and flowers, how each grows and what harms it.

Written for one plant at a time and compiled to machine code. `state` says what is known of a plant and what may happen to it
(`Happening`), `drivers` what a day brings it and how warmth and light set the pace of each organ; each
organ has its module; `growth` is the carbon behind all of them, `day` their order in a day and the line that it leaves; `causes` names what may
harm them, with the words that are told. It has no clock and no opinion on care; it hands lines to the diary and the record and keeps neither.
It knows the vocabulary, the scenario's plants and pots, and the daily figures of the environment.
"""
