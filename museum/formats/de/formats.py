"""German dates and numbers: the day first with a point, a comma before the decimals."""

DATE_FORMAT = "j. F Y"
SHORT_DATE_FORMAT = "j. M Y"
DATETIME_FORMAT = "j. F Y, H:i"
SHORT_DATETIME_FORMAT = "j. M Y, H:i"
YEAR_MONTH_FORMAT = "F Y"
MONTH_DAY_FORMAT = "j. F"
TIME_FORMAT = "H:i"
FIRST_DAY_OF_WEEK = 1
DECIMAL_SEPARATOR = ","
THOUSAND_SEPARATOR = "."
NUMBER_GROUPING = 3
