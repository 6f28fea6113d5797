"""What compressed air does in a prop: formulas and one stroke. Knows no cues and no step tables."""
