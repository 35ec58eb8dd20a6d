"""Straightness of the riveted edge: its readings, its verdict, and how both are said and drawn."""
