/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text <-> temperatures, humidities, ranges, durations, times of day and
 * instants.  Pure, always in the C locale; units for people are °C or °F,
 * inside everything is °C, %, s.
 */
#ifndef WARMSIDE_CONF_MEASURE_H
#define WARMSIDE_CONF_MEASURE_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/model.h"

/* Readers return true and fill *out, or return false and leave it alone.
 * Leading and trailing blanks are allowed, anything else left over is not;
 * nan and inf never pass. */

/* "26..30 C", "79..86 F", "45..60 %"; the unit must fit the quantity. low <= high. */
bool parse_range(const char *text, enum quantity quantity, struct range *out);

/* "-0.4 C", "1 F" (x 5/9), "3 %": a difference. */
bool parse_difference(const char *text, enum quantity quantity, double *out);

/* "90s", "45min", "6h", "2d", also "1h 30min"; > 0. In s. */
bool parse_duration(const char *text, double *out);

/* "08:00" -> s after midnight. */
bool parse_time_of_day(const char *text, int *out);

/* ISO 8601 ("2026-01-05T08:00:00Z", "+01:00", fractions of a second, a blank
 * for the T, date alone; no zone means local time) or epoch seconds. */
bool parse_instant(const char *text, double *out);

/* Whether a file of ours can hold it as an instant: 0..1e12 s since the epoch, the
 * year 33658.  What is beyond it is a damaged number, and too large for a date. */
bool is_instant(double instant);

/* "2026-02-20" -> days since 1970-01-01; "11-15".  A date that no calendar has is none;
 * "02-29" is one. */
bool parse_date(const char *text, int *out);
bool parse_month_day(const char *text, struct month_day *out);

/* "2026-11-30" -> when that day begins in local time, so many years later: of a 29 February
 * that is missing then, the day behind it. */
bool parse_day(const char *text, int years_later, double *out);

/* A finite decimal number, nothing else. */
bool parse_number(const char *text, double *out);

double fahrenheit_from_celsius(double celsius);
double celsius_from_fahrenheit(double fahrenheit);

/* Writers fill buf (always terminated) and return buf.  MEASURE_TEXT bytes do.  They
 * round what six decimals of the number say, halves away from zero. */
enum { MEASURE_TEXT = 40 };

/* "27.4 °C", "81.3 °F", "38 %": for people. */
char *show_value(double value, enum quantity quantity, enum units units, char buf[MEASURE_TEXT]);

/* "27..31 °C", "45..60 %" */
char *show_range(struct range range, enum quantity quantity, enum units units,
		 char buf[MEASURE_TEXT]);

/* A difference: "1.2 °C", "2.2 °F", "7 %". */
char *show_difference(double value, enum quantity quantity, enum units units,
		      char buf[MEASURE_TEXT]);

/* "2 h 10 min", "45 min", "30 s", "3 d 4 h": two units at most. */
char *show_duration(double seconds, char buf[MEASURE_TEXT]);

/* "2:39", "123:05": hours and minutes, for tables; "<0:01" for what is shorter and more
 * than nothing. */
char *show_hours(double seconds, char buf[MEASURE_TEXT]);

/* "11 %", of 0..1; "<1 %" for what would round to nothing, ">99 %" for what would
 * round to all, and is neither. */
char *show_share(double share, char buf[MEASURE_TEXT]);

/* "2026-01-05T08:00:00Z" */
char *show_instant_utc(double instant, char buf[MEASURE_TEXT]);

/* "2026-02-20", of days since 1970-01-01. */
char *show_date(int date, char buf[MEASURE_TEXT]);

/* "2026-01-05 08:00", local time: for people. */
char *show_instant_local(double instant, char buf[MEASURE_TEXT]);

#endif
