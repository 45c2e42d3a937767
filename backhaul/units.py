"""Units' factors, so that no formula carries a bare 1000."""

M_PER_KM = 1000.0
MHZ_PER_GHZ = 1000.0
PERCENT = 100.0
MINUTES_PER_YEAR = 525_960.0  # 365.25 days, ITU-R P.530 practice
