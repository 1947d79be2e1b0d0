/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A recording: CSV with a header `time,probe,temperature,humidity`, one row
 * one reading of one probe, in order of time.  time is epoch seconds or ISO
 * 8601; temperature in °C, or temperature_f in °F; an empty field is no
 * value.  The columns may stand in any order.
 */
#ifndef WARMSIDE_DAEMON_RECORDING_H
#define WARMSIDE_DAEMON_RECORDING_H

#include "daemon/reading.h"

struct recording;

enum row_kind { ROW_READING, ROW_UNKNOWN_PROBE, ROW_END, ROW_FAULT };

/* Opens the file and reads its header.  NULL with a sentence in *fault
 * (malloc'ed) when it cannot be opened or its header is no recording's. */
struct recording *recording_open(const char *path, const struct conf *conf, char **fault);
void recording_close(struct recording *recording);

/* The next row.  ROW_FAULT: a sentence with file and line in *fault
 * (malloc'ed).  ROW_UNKNOWN_PROBE: a reading of a probe that the
 * configuration does not know; its time counts, its values do not. */
enum row_kind recording_next(struct recording *recording, struct reading *out, char **fault);

#endif
