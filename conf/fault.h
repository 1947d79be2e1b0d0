/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A list of mistakes found in a configuration, each with its file and line
 * and one clear sentence: what is wrong, and what would be right.
 * Collects; never prints.
 */
#ifndef WARMSIDE_CONF_FAULT_H
#define WARMSIDE_CONF_FAULT_H

#include <stdbool.h>
#include <stddef.h>

struct fault {
	char *file;
	int line;       /* from 1; 0 when the fault has no line of its own */
	char *text;
};

struct faults {
	struct fault *list;
	size_t count;
};

enum { FAULTS_MOST = 200 };

/* Appends one fault; copies file and the formatted text, with '?' for what would be a
 * control character or no UTF-8 on a terminal.  A fault that is
 * there already, word for word, is not added again.  After FAULTS_MOST of
 * them one more says that there are others, and the list is full. */
void fault_add(struct faults *faults, const char *file, int line, const char *format, ...)
	__attribute__((format(printf, 4, 5)));

/* True when nothing more is added: looking for faults can stop. */
bool faults_full(const struct faults *faults);

/* Puts the faults in order of file (as first met) and line. */
void faults_sort(struct faults *faults);

/* Frees the list's contents; the list is then empty and usable again. */
void faults_clear(struct faults *faults);

#endif
