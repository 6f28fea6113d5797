"""The dry-run page: one HTML file that shows, plays and explains a dry run, with nothing fetched from anywhere.

`page` makes the whole file. From the ground up: `pack` (short rows of numbers), `window` (which part of the run),
`lanes`, `cues`, `findings`, `sounds` (values for the script), `figure`, `symbols`, `machines`, `stage` (drawings),
`compare`, `document`. What runs in the browser are the `.js` and `.css` files of `assets/`.
"""
