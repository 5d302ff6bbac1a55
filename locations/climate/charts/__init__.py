"""Charts of the climate, drawn here as SVG: pure functions of figures and words, no Django, no style of their own."""
