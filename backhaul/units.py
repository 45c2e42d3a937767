"""Units' factors, so that no formula carries a bare 1000."""

M_PER_KM = 1000.0
MHZ_PER_GHZ = 1000.0
PERCENT = 100.0
#: The international foot and mile, exact: NIST SP 811 (2008), appendix B.8.
M_PER_FT = 0.3048
FT_PER_MI = 5280.0
M_PER_MI = FT_PER_MI * M_PER_FT
MM_PER_IN = 25.4
#: The pound-force and the degree Fahrenheit: NIST SP 811 (2008), appendix B.8.
N_PER_LBF = 4.4482216152605
C_PER_F, F_AT_0_C = 5 / 9, 32.0
S_PER_H = 3600.0
MINUTES_PER_YEAR = 525_960.0  # 365.25 days, ITU-R P.530 practice
#: Figures are compared to so many decimals, since 0.3 - 0.1 - 0.2 is 0 in a spreadsheet and a
#: little less in binary arithmetic.
DECIMALS = 6
