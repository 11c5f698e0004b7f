"""The version, which files carry so that a reader can tell what wrote them."""

VERSION = "0.1.0"
