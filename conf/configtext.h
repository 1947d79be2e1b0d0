/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A file -> a checked text.  libConfuse aborts on a folder and takes what
 * it gets for text, so files are read and looked through here first.
 */
#ifndef WARMSIDE_CONF_CONFIGTEXT_H
#define WARMSIDE_CONF_CONFIGTEXT_H

#include <stddef.h>

#include "conf/fault.h"

enum {
	CONFIG_BYTES = 1 << 20,         /* a configuration file is at most this long */
	SECRET_BYTES = 1 << 16,         /* and a file named by "@" this */
};

/* Why file_read could not, by errno and the ceiling it was given, as the end
 * of a sentence: "cannot be read: Permission denied".  malloc'ed. */
char *unreadable(int error, size_t ceiling);

/* A configuration file as text: UTF-8 without NUL and control characters,
 * not empty; the caller frees.  NULL when there is nothing to go on with.
 * A byte order mark and broken UTF-8 are faults too, but the text is
 * returned without them so that its other faults can be found.  When the
 * file cannot be read the fault stands at asked_file and asked_line (who
 * wanted it); all others stand in the file. */
char *configtext_read(const char *path, const char *asked_file, int asked_line,
		      struct faults *faults);

#endif
