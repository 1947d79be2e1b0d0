/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Other numbers of rows; see archive_resize.h.  The layout is that of
 * librrd's rrd_format.h; its own ways are not taken: `rrdtool resize` changes
 * one set of rows at a time in the working folder, and a new file with the old
 * one as its source is filled by interpolating.
 */
#include "daemon/archive_resize.h"

#define RRD_EXPORT_DEPRECATED /* for the structs; nothing of it is called */
#include <rrd.h>
#include <rrd_format.h>

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/files.h"

/* Six letters, as librrd's own: the archivist knows such a file as left over. */
#define BESIDE "resize"

/* The rows of one size and function. */
struct grid {
	int64_t span;           /* s */
	int64_t end;            /* of the newest row, s since the epoch */
	uint64_t count, newest; /* rows, and which of them is the newest */
	double *rows;
};

/* A file: its head, then its grids one after the other. */
struct image {
	struct archive_head head;
	size_t columns, grid_count;
	struct rra_def_t *definitions; /* these two lie in head.bytes */
	struct rra_ptr_t *pointers;
	double *rows;           /* malloc'ed: those of all grids */
	struct grid *grids;
};

static void image_free(struct image *image)
{
	archive_head_free(&image->head);
	free(image->rows);
	free(image->grids);
}

static size_t cells_of(const struct image *image)
{
	size_t cells = 0;

	for (size_t i = 0; i < image->grid_count; i++)
		cells += image->definitions[i].row_cnt * image->columns;
	return cells;
}

/* What the head says of the grids; their rows are not there yet. */
static void lay_out(struct image *image)
{
	const struct stat_head_t *stat = (const void *)image->head.bytes;
	struct ds_def_t *ds = (void *)(image->head.bytes + sizeof *stat);

	image->columns = stat->ds_cnt;
	image->grid_count = stat->rra_cnt;
	image->definitions = (void *)(ds + stat->ds_cnt);
	image->pointers = (void *)(image->head.bytes + image->head.size -
				   stat->rra_cnt * sizeof *image->pointers);
}

static void make_grids(struct image *image)
{
	double *rows = image->rows = must_calloc(cells_of(image), sizeof *rows);

	image->grids = must_calloc(image->grid_count, sizeof *image->grids);
	for (size_t i = 0; i < image->grid_count; i++) {
		const struct rra_def_t *is = &image->definitions[i];
		int64_t span = (int64_t)is->pdp_cnt * ARCHIVE_STEP;

		image->grids[i] = (struct grid){
			.span = span,
			.end = image->head.last - image->head.last % span,
			.count = is->row_cnt,
			.newest = image->pointers[i].cur_row,
			.rows = rows,
		};
		rows += is->row_cnt * image->columns;
	}
}

/* How many rows of that set are wanted; those that are not ours stay. */
static uint64_t wanted(const struct rra_def_t *is, const uint64_t rows[ROW_SIZES])
{
	for (int size = 0; size < ROW_SIZES; size++)
		if ((int64_t)is->pdp_cnt * ARCHIVE_STEP == row_sizes[size])
			return rows[size];
	return is->row_cnt;
}

bool archive_rows_fit(const struct archive_head *head, const uint64_t rows[ROW_SIZES])
{
	struct image image = { .head = *head };

	lay_out(&image);
	for (size_t i = 0; i < image.grid_count; i++)
		if (image.definitions[i].row_cnt != wanted(&image.definitions[i], rows))
			return false;
	return true;
}

/* ---- rows ----------------------------------------------------------------- */

/* The row that ends then; NULL when it is not kept. */
static double *row_at(const struct grid *grid, int64_t end, size_t columns)
{
	uint64_t back = (uint64_t)((grid->end - end) / grid->span);

	if (end > grid->end || back >= grid->count)
		return NULL;
	return grid->rows + (grid->newest + grid->count - back) % grid->count * columns;
}

static void fill(const struct grid *new, const struct grid *old, size_t columns)
{
	for (uint64_t back = 0; back < new->count; back++) {
		int64_t end = new->end - (int64_t)back * new->span;
		double *to = row_at(new, end, columns);
		const double *from = row_at(old, end, columns);

		for (size_t c = 0; c < columns; c++)
			to[c] = from ? from[c] : (double)NAN;
	}
}

/* Since when rows of that set are kept. */
static uint64_t kept_since(const struct grid *old, const struct rra_def_t *definition)
{
	uint64_t since = definition->par[KEPT_SINCE].u_cnt;
	int64_t begin = old->end - (int64_t)old->count * old->span;

	return begin > 0 && (uint64_t)begin > since ? (uint64_t)begin : since;
}

static void derive(struct image *new, const struct image *old, const uint64_t rows[ROW_SIZES])
{
	*new = (struct image){ .head = old->head };
	new->head.bytes = must_calloc(1, old->head.size);
	memcpy(new->head.bytes, old->head.bytes, old->head.size);
	lay_out(new);
	for (size_t i = 0; i < new->grid_count; i++) {
		new->definitions[i].row_cnt = wanted(&old->definitions[i], rows);
		new->definitions[i].par[KEPT_SINCE].u_cnt =
			kept_since(&old->grids[i], &old->definitions[i]);
		new->pointers[i].cur_row = new->definitions[i].row_cnt - 1;
	}
	make_grids(new);
	for (size_t i = 0; i < new->grid_count; i++)
		fill(&new->grids[i], &old->grids[i], new->columns);
}

/* ---- files ---------------------------------------------------------------- */

static bool read_rows(const char *path, struct image *image)
{
	int fd = open(path, O_RDONLY | O_CLOEXEC);
	bool good = fd >= 0 && file_read_at(fd, image->rows, cells_of(image) * sizeof *image->rows,
					    (off_t)image->head.size);

	if (!good && !errno)
		errno = EIO; /* it was long enough a moment ago */
	if (fd >= 0)
		close(fd);
	return good;
}

/* Whole and on the disk, with the old one's mode; false with errno. */
static bool write_image(const char *beside, const char *path, struct image *image)
{
	size_t size = cells_of(image) * sizeof *image->rows;
	int fd = open(beside, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
	struct stat old;
	bool good = fd >= 0 && stat(path, &old) == 0 && fchmod(fd, old.st_mode & 0777) == 0;

	/* A disk that is too full says so before anything is written. */
	if (good && fallocate(fd, 0, 0, (off_t)(image->head.size + size)) < 0)
		good = errno == EOPNOTSUPP;
	good = good && file_write_at(fd, image->head.bytes, image->head.size, 0) &&
	       file_write_at(fd, image->rows, size, (off_t)image->head.size) && fsync(fd) == 0;
	int error = errno;

	if (fd >= 0 && close(fd) < 0 && good) {
		good = false;
		error = errno;
	}
	errno = error;
	return good;
}

static bool replace(const char *path, struct image *image)
{
	char *beside = must_print("%s" BESIDE, path), *folder = must_copy(path);
	char *slash = strrchr(folder, '/');
	bool good = write_image(beside, path, image) && rename(beside, path) == 0;
	int error = errno;

	if (slash)
		*slash = '\0';
	if (good) {
		path_sync_new(path);
		path_sync(slash ? folder : ".");
	}
	else
		unlink(beside);
	free(beside);
	free(folder);
	errno = error;
	return good;
}

bool archive_resize(const char *path, const uint64_t rows[ROW_SIZES], char why[ARCHIVE_TEXT])
{
	struct image old = { 0 }, new = { 0 };

	enum head_state state = archive_head_read(path, &old.head, why);

	if (state == HEAD_ABSENT)
		snprintf(why, ARCHIVE_TEXT, "it is not there");
	if (state != HEAD_GOOD)
		return false;
	lay_out(&old);
	make_grids(&old);
	bool good = read_rows(path, &old);

	if (good) {
		derive(&new, &old, rows);
		good = replace(path, &new);
	}
	if (!good)
		snprintf(why, ARCHIVE_TEXT, "%s", strerror(errno));
	image_free(&new);
	image_free(&old);
	return good;
}
