"""Drawings as SVG, from plain data: no framework, no clock, every word escaped."""
