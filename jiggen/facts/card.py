"""The bank card: an object of known size for someone who has no rule, or does not trust his.

Source: ISO/IEC 7810, card size ID-1, as quoted on public pages; the standard was not read.
"""

from __future__ import annotations

CARD_WIDTH = 85.60
"""mm, the long side of a bank or identity card."""

CARD_HEIGHT = 53.98
"""mm, the short side."""
