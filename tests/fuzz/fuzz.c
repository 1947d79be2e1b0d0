/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * For the fuzz targets; see fuzz.h.
 */
#include "tests/fuzz/fuzz.h"

#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/load.h"
#include "conf/memory.h"
#include "conf/utf8.h"

enum { FORM_FEED = '\f' };

void fuzz_broken(const char *file, int line, const char *truth)
{
	fprintf(stderr, "%s:%d: does not hold: %s\n", file, line, truth);
	abort();
}

uint8_t fuzz_byte(struct fuzz_bytes *bytes)
{
	if (!bytes->left)
		return 0;
	bytes->left--;
	return *bytes->at++;
}

struct fuzz_bytes fuzz_some(struct fuzz_bytes *bytes, size_t most)
{
	struct fuzz_bytes some = { bytes->at, bytes->left < most ? bytes->left : most };

	bytes->at += some.left;
	bytes->left -= some.left;
	return some;
}

char *fuzz_part(struct fuzz_bytes *bytes)
{
	const uint8_t *end = bytes->left ? memchr(bytes->at, FORM_FEED, bytes->left) : NULL;
	struct fuzz_bytes part = fuzz_some(bytes, end ? (size_t)(end - bytes->at) : bytes->left);
	char *text = must_calloc(part.left + 1, 1);

	if (part.left)
		memcpy(text, part.at, part.left);
	if (end)
		fuzz_byte(bytes);
	return text;
}

/* ---- files ----------------------------------------------------------------- */

static char folder[4096];

static int remove_one(const char *path, const struct stat *about, int kind, struct FTW *walk)
{
	(void)about;
	(void)kind;
	(void)walk;
	return remove(path);
}

static void remove_folder(void)
{
	nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

const char *fuzz_folder(void)
{
	const char *above = getenv("TMPDIR");

	if (folder[0])
		return folder;
	snprintf(folder, sizeof folder, "%s/warmside-fuzz.XXXXXX", above ? above : "/tmp");
	fuzz_holds(mkdtemp(folder));
	atexit(remove_folder);
	return folder;
}

char *fuzz_file(const char *name, const void *bytes, size_t size)
{
	char *path = must_print("%s/%s", fuzz_folder(), name);
	int fd = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);

	fuzz_holds(fd >= 0 && (!size || write(fd, bytes, size) == (ssize_t)size));
	close(fd);
	return path;
}

struct conf *fuzz_conf(const char *text)
{
	char *path = fuzz_file("fuzz.conf", text, strlen(text));
	struct faults faults = { 0 };
	struct conf *conf = conf_load(path, &faults);

	for (size_t i = 0; i < faults.count; i++)
		fprintf(stderr, "line %d: %s\n", faults.list[i].line, faults.list[i].text);
	fuzz_holds(conf);
	free(path);
	faults_clear(&faults);
	return conf;
}

/* ---- what holds ------------------------------------------------------------ */

bool fuzz_is_instant(double instant)
{
	return instant >= 0 && instant <= 1e12;
}

bool fuzz_is_sentence(const char *text)
{
	char *mended = must_copy(text);

	utf8_mend(mended);
	bool same = text[0] && strcmp(text, mended) == 0;

	free(mended);
	return same;
}
