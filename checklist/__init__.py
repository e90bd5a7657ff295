"""Keyboard-only runner for ordered physical-examination protocols."""

__version__ = "0.1.0"
