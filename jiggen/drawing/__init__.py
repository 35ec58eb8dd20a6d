"""The neutral drawing model: shapes in mm, y up, arcs kept as arcs; no page format, no wedge."""
