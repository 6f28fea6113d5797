"""The dry run: triggers, step tables and the motion of cylinders -> a timeline. Nothing here moves a real
valve."""
