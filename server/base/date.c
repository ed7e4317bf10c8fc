#include "date.h"

/* Years run from March here, so that the leap day is the last of its year. Then a date is the sum of whole
 * 400-year eras (146097 days), years of the era and days of the year; month m (March = 0) begins (153 m + 2)
 * / 5 days in. */
static int days_of(int year, int month, int day) {
    if (month <= 2) year--;
    int era = year / 400, of_era = year % 400;
    int of_year = (153 * (month > 2 ? month - 3 : month + 9) + 2) / 5 + day - 1;
    return era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719468;
}

static int days_in_month(int year, int month) {
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return days[month - 1] + (month == 2 && leap);
}

bool hfd_date_parse(const char *text, int *days) {
    int part[3] = {0, 0, 0}, p = 0;
    for (int i = 0; i < 10; i++) {
        if (i == 4 || i == 7) {
            if (text[i] != '-') return false;
            p++;
        } else {
            if (text[i] < '0' || text[i] > '9') return false;
            part[p] = part[p] * 10 + (text[i] - '0');
        }
    }
    int year = part[0], month = part[1], day = part[2];
    if (text[10] != '\0' || year < 1900 || year > 2200 || month < 1 || month > 12) return false;
    if (day < 1 || day > days_in_month(year, month)) return false;
    *days = days_of(year, month, day);
    return true;
}

void hfd_date_print(int days, char out[HFD_DATE_TEXT]) {
    int shifted = days + 719468;
    int era = (shifted >= 0 ? shifted : shifted - 146096) / 146097;
    int of_era = shifted - era * 146097;
    int year_of_era = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
    int of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    int from_march = (5 * of_year + 2) / 153;
    int day = of_year - (153 * from_march + 2) / 5 + 1;
    int month = from_march < 10 ? from_march + 3 : from_march - 9;
    int year = year_of_era + era * 400 + (month <= 2);
    int parts[] = {year, month, day};
    for (int i = 9, p = 2; i >= 0; i--) {
        if (i == 7 || i == 4) {
            out[i] = '-';
            p--;
            continue;
        }
        out[i] = (char)('0' + parts[p] % 10);
        parts[p] /= 10;
    }
    out[10] = '\0';
}
