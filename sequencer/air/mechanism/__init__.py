"""Parts of the rig that a cylinder drives -> effective mass, load and the way of the prop's end along the stroke.

`build` makes a `Mechanism` of parts; `mechanism` adds several on one rod and answers the motion; `weakest` finds where
least is left over and what helps; `table` makes a slow linkage quick. One file a kind of linkage: `straight` (slide,
spring, mass on the rod), `lever`, `fourbar`, `scissor`, `rope`; `swing` is what lever and four-bar share. Signs and the
equation of motion are in `linkage`.
"""
