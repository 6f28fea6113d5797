"""What a person looks at: timelines, sheets, pages. Everything here only draws what was computed
elsewhere."""
