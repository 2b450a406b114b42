"""The version of the package, the one fact every room may ask."""

__version__ = "0.1.0"
