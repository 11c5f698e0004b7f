"""What we ask: a home, a climate, a plant in its pot and a way of caring as checked input, shipped as presets or read from a file.

`scenario` is the whole; `climate`, `home`, `plant` and `care` are its parts; `presets` reads files, shipped ones and a user's own;
`differences` says in words what differs between two; `hemisphere` moves every date by half a year for the other half of the earth.
It knows the vocabulary and no nature: a scenario never runs anything.
"""
