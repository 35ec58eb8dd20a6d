"""The page in the browser: what the builder types and sees, served by the user's machine to itself.

::

    browser ── guard ── serve ── answers ── screens (measure, jigs, check, edge)
                                    │            │
                                    │      form, catalogue      the job's fields
                                    │            │
                                  store        edit             the file on disk, and its text

Answers are plain functions of a `Request` record; only `serve` and `guard` know the server. The
job file is the truth: a draft lives in the open form and nowhere else until it is saved. Nothing
is computed here: what the screens show comes from the records that the terminal's report has.
"""
