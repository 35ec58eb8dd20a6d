"""From what was measured to a verdict: may this piece be cut, may it be drilled with?

`readings` reads what was measured, from the form that `form` wrote or from options. `sheets` judges
pages and beds, `pieces` what was cut, `holes` a test hole, `coupon` the kerf; `prove` brings them
together, piece by piece. How it is said is the business of `jiggen.report`.
"""
