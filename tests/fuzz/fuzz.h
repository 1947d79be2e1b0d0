/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the fuzz targets share.  A target is one file fuzz_NAME.c whose
 * LLVMFuzzerTestOneInput is called with any bytes whatever: it must neither crash nor
 * leak nor hang, and what it says of a result (fuzz_holds) must be so.  run-fuzz.sh
 * builds and runs them.
 */
#ifndef WARMSIDE_TESTS_FUZZ_H
#define WARMSIDE_TESTS_FUZZ_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "conf/model.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* Ends the program as found faulty, with the place, unless it is so. */
#define fuzz_holds(truth) ((truth) ? (void)0 : fuzz_broken(__FILE__, __LINE__, #truth))
void fuzz_broken(const char *file, int line, const char *truth) __attribute__((noreturn));

/* What is left of an input. */
struct fuzz_bytes {
	const uint8_t *at;
	size_t left;
};

/* The next byte; 0 when there is none. */
uint8_t fuzz_byte(struct fuzz_bytes *bytes);

/* The next 0..most bytes, as many as there are. */
struct fuzz_bytes fuzz_some(struct fuzz_bytes *bytes, size_t most);

/* What is before the next form feed, as a text of its own size; bytes moves behind it.
 * Form feeds part the texts of one input.  A zero byte ends it early.  The caller frees. */
char *fuzz_part(struct fuzz_bytes *bytes);

/* A folder of this process, made at the first call and removed at its end. */
const char *fuzz_folder(void);

/* Writes a file in it; its path, which the caller frees. */
char *fuzz_file(const char *name, const void *bytes, size_t size);

/* A faultless configuration from a text; ends the program when it is none. */
struct conf *fuzz_conf(const char *text);

/* True for an instant that a file of ours may hold: 0..1e12 s since the epoch. */
bool fuzz_is_instant(double instant);

/* Text that may be shown: UTF-8 without control characters but tabs, and not empty. */
bool fuzz_is_sentence(const char *text);

#endif
