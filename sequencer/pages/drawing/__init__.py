"""Drawings as SVG text: values in, strings out, no library. What is drawn was computed elsewhere.

From the ground up: `svg` (tags and text, escaped), `scale` (values to places, round ticks), `lines` (curves, as few
points as can be seen), `axes`, `legend` (dashes as well as colours), `chart` (panels over one axis), `theme` (the
colours, as a style sheet of classes, so that a page can bring its own).
"""
