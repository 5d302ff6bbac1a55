"""The climate of the places: what the air was, what the things in it went through, and what it means for them."""
