"""What we ask: a home, a climate, a plant in its pot and a way of caring as checked input, shipped as presets or read from a file.

Also what differs between two scenarios, in words, and the same question on the other half of the earth.
It knows the vocabulary and no nature: a scenario never runs anything.
"""
