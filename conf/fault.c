/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The list of mistakes; see fault.h.
 */
#include "conf/fault.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "conf/utf8.h"

bool faults_full(const struct faults *faults)
{
	return faults->count > FAULTS_MOST;
}

static bool is_known(const struct faults *faults, const struct fault *fault)
{
	for (size_t i = 0; i < faults->count; i++) {
		const struct fault *known = &faults->list[i];

		if (known->line == fault->line && strcmp(known->file, fault->file) == 0 &&
		    strcmp(known->text, fault->text) == 0)
			return true;
	}
	return false;
}

static void append(struct faults *faults, struct fault fault)
{
	faults->list = must_resize(faults->list, faults->count + 1, sizeof *faults->list);
	faults->list[faults->count++] = fault;
}

void fault_add(struct faults *faults, const char *file, int line, const char *format, ...)
{
	struct fault fault = { must_copy(file), line, NULL };
	va_list arguments;

	va_start(arguments, format);
	if (vasprintf(&fault.text, format, arguments) < 0)
		fault.text = must_copy("a fault whose description could not be written");
	va_end(arguments);
	/* Names of files and what libConfuse says come as they are written. */
	utf8_mend(fault.file);
	utf8_mend(fault.text);

	if (faults_full(faults) || is_known(faults, &fault)) {
		free(fault.file);
		free(fault.text);
		return;
	}
	if (faults->count == FAULTS_MOST) {
		free(fault.text);
		fault.text =
			must_copy("there are more faults from here on; mend those before first");
	}
	append(faults, fault);
}

/* A fault with all that decides its place in the list. */
struct ranked {
	size_t file, index;
	struct fault fault;
};

static int by_place(const void *a, const void *b)
{
	const struct ranked *x = a, *y = b;

	if (x->file != y->file)
		return x->file < y->file ? -1 : 1;
	if (x->fault.line != y->fault.line)
		return x->fault.line < y->fault.line ? -1 : 1;
	return x->index < y->index ? -1 : 1;
}

/* The index of the first fault in the same file: files rank as first met. */
static size_t first_of_file(const struct faults *faults, size_t index)
{
	for (size_t i = 0; i < index; i++)
		if (strcmp(faults->list[i].file, faults->list[index].file) == 0)
			return i;
	return index;
}

void faults_sort(struct faults *faults)
{
	struct ranked *ranked = must_calloc(faults->count, sizeof *ranked);

	for (size_t i = 0; i < faults->count; i++)
		ranked[i] = (struct ranked){ first_of_file(faults, i), i, faults->list[i] };
	qsort(ranked, faults->count, sizeof *ranked, by_place);
	for (size_t i = 0; i < faults->count; i++)
		faults->list[i] = ranked[i].fault;
	free(ranked);
}

void faults_clear(struct faults *faults)
{
	for (size_t i = 0; i < faults->count; i++) {
		free(faults->list[i].file);
		free(faults->list[i].text);
	}
	free(faults->list);
	*faults = (struct faults){ 0 };
}
