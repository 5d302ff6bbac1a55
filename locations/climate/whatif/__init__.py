"""What if: what heating, airing, drying, sealing or another room would make of the air of a room. Figures for a decision, nothing is stored."""
