"""The shop arithmetic: rivets, countersinks, spacing, trimming, and what each is held against."""
