/* Calendar dates as whole days since 1970-01-01 (proleptic Gregorian). */
#ifndef HFD_DATE_H
#define HFD_DATE_H

#include <stdbool.h>

#define HFD_DATE_TEXT 11 /* "YYYY-MM-DD" and the NUL */

/* Strictly YYYY-MM-DD, a day that exists, years 1900 to 2200. */
bool hfd_date_parse(const char *text, int *days);
void hfd_date_print(int days, char out[HFD_DATE_TEXT]);

#endif
