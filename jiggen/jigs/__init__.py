"""The jigs: one file a jig, one plan each, one registry in `plan`."""
