/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reading round-robin files; see fetch.h.
 */
#include "report/fetch.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

#define RRD_EXPORT_DEPRECATED /* the structures of a file's head come with these */
#include <rrd.h>

#include "conf/memory.h"

/* Limits of belief: a head beyond them is damaged. */
enum {
	MOST_SOURCES = 200,
	MOST_ARCHIVES = 60,
	MOST_ROWS = 20 * 1000 * 1000,
	LOCK_TRIES = 100,
	LOCK_PAUSE_MS = 20,
};

/* ---- times ---------------------------------------------------------------- */

static char *read_moment(const struct moment *moment, rrd_time_value_t *out)
{
	if (moment->at_style) {
		const char *wrong = rrd_parsetime(moment->at_style, out);

		return wrong ? must_print("\"%s\" is no time (%s)", moment->at_style, wrong) : NULL;
	}
	time_t second = (time_t)moment->instant;

	*out = (rrd_time_value_t){ .type = ABSOLUTE_TIME };
	localtime_r(&second, &out->tm);
	return NULL;
}

char *fetch_times(struct moment *start, struct moment *end)
{
	rrd_time_value_t start_value, end_value;
	time_t from, to;
	char *trouble;

	if (!start->at_style && !end->at_style)
		return NULL;
	if ((trouble = read_moment(start, &start_value)) ||
	    (trouble = read_moment(end, &end_value)))
		return trouble;
	rrd_clear_error();
	if (rrd_proc_start_end(&start_value, &end_value, &from, &to)) {
		trouble = must_print("the times cannot be read (%s)", rrd_get_error());
		rrd_clear_error();
		return trouble;
	}
	if (start->at_style)
		start->instant = (double)from;
	if (end->at_style)
		end->instant = (double)to;
	return NULL;
}

/* ---- the head ------------------------------------------------------------- */

/* Everything before the rows. */
struct head {
	stat_head_t stat;
	ds_def_t *sources;
	rra_def_t *archives;
	live_head_t live;
	rra_ptr_t *pointers;
};

static void head_clear(struct head *head)
{
	free(head->sources);
	free(head->archives);
	free(head->pointers);
}

static bool is_text(const char *field, size_t size)
{
	size_t length = strnlen(field, size);

	return length > 0 && length < size;
}

static bool read_items(FILE *file, void *items, size_t size, size_t count)
{
	return fread(items, size, count, file) == count;
}

/* Reads the head's parts in their order; NULL, or what is wrong with them. */
static const char *head_read(FILE *file, struct head *head)
{
	stat_head_t *stat = &head->stat;

	if (!read_items(file, stat, sizeof *stat, 1))
		return "it is too short";
	if (memcmp(stat->cookie, RRD_COOKIE, sizeof stat->cookie) != 0 ||
	    !is_text(stat->version, sizeof stat->version))
		return "it does not begin like a round-robin file";
	if (strcmp(stat->version, RRD_VERSION3) < 0 || strcmp(stat->version, RRD_VERSION5) > 0)
		return "its version is none that is known here";
	if (stat->float_cookie != FLOAT_COOKIE)
		return "it was written on another kind of machine";
	if (stat->ds_cnt < 1 || stat->ds_cnt > MOST_SOURCES || stat->rra_cnt < 1 ||
	    stat->rra_cnt > MOST_ARCHIVES || stat->pdp_step != ARCHIVE_STEP)
		return "its head is not one of ours";
	head->sources = must_calloc(stat->ds_cnt, sizeof *head->sources);
	head->archives = must_calloc(stat->rra_cnt, sizeof *head->archives);
	head->pointers = must_calloc(stat->rra_cnt, sizeof *head->pointers);

	long skip = (long)(stat->ds_cnt * sizeof(pdp_prep_t) +
			   stat->ds_cnt * stat->rra_cnt * sizeof(cdp_prep_t));

	if (!read_items(file, head->sources, sizeof *head->sources, stat->ds_cnt) ||
	    !read_items(file, head->archives, sizeof *head->archives, stat->rra_cnt) ||
	    !read_items(file, &head->live, sizeof head->live, 1) ||
	    fseek(file, skip, SEEK_CUR) ||
	    !read_items(file, head->pointers, sizeof *head->pointers, stat->rra_cnt))
		return "it is too short";
	return NULL;
}

static bool known_function(const char *name)
{
	return strcmp(name, "AVERAGE") == 0 || strcmp(name, "MIN") == 0 ||
	       strcmp(name, "MAX") == 0;
}

/* Everything librrd would trust.  `at` is where the rows begin. */
static const char *head_judge(const struct head *head, off_t at, off_t size)
{
	double rows = 0;

	for (size_t i = 0; i < head->stat.ds_cnt; i++)
		if (!is_text(head->sources[i].ds_nam, sizeof head->sources[i].ds_nam) ||
		    strncmp(head->sources[i].dst, "GAUGE", sizeof head->sources[i].dst) != 0)
			return "the list of what it holds is garbled";
	for (size_t i = 0; i < head->stat.rra_cnt; i++) {
		const rra_def_t *archive = &head->archives[i];

		if (!is_text(archive->cf_nam, sizeof archive->cf_nam) ||
		    !known_function(archive->cf_nam) || archive->pdp_cnt < 1 ||
		    archive->pdp_cnt > ROW_HOUR / ARCHIVE_STEP || archive->row_cnt < 1 ||
		    archive->row_cnt > MOST_ROWS ||
		    head->pointers[i].cur_row >= archive->row_cnt)
			return "the list of its rows is garbled";
		rows += (double)archive->row_cnt;
	}
	if (head->live.last_up <= 0 || head->live.last_up > (time_t)1 << 40)
		return "the time of its last entry is garbled";
	if ((double)(size - at) < rows * (double)head->stat.ds_cnt * (double)sizeof(rrd_value_t))
		return "it is too short for the rows it names";
	return NULL;
}

/* Rows that were kept: a set that was made longer says since when it is. */
static size_t rows_kept(const struct head *head, const rra_def_t *archive)
{
	double span = (double)archive->pdp_cnt * ARCHIVE_STEP;
	double since = (double)archive->par[KEPT_SINCE].u_cnt;
	double count = (floor((double)head->live.last_up / span) * span - since) / span;

	if (since <= 0 || count >= (double)archive->row_cnt)
		return archive->row_cnt;
	return count > 0 ? (size_t)count : 0;
}

static void head_to_shape(const struct head *head, struct shape *out)
{
	*out = (struct shape){
		.newest = (double)head->live.last_up,
		.names_count = head->stat.ds_cnt,
		.names = must_calloc(head->stat.ds_cnt, sizeof *out->names),
	};
	for (size_t i = 0; i < out->names_count; i++)
		memcpy(out->names[i], head->sources[i].ds_nam, DS_NAME);
	for (size_t i = 0; i < head->stat.rra_cnt; i++)
		for (int size = 0; size < ROW_SIZES; size++)
			if (strcmp(head->archives[i].cf_nam, "AVERAGE") == 0 &&
			    head->archives[i].pdp_cnt ==
				    (unsigned long)row_sizes[size] / ARCHIVE_STEP)
				out->rows[size] = rows_kept(head, &head->archives[i]);
}

bool fetch_shape(const char *path, struct shape *out, char **trouble, bool *missing)
{
	struct head head = { 0 };
	struct stat about;
	FILE *file = fopen(path, "rbe");

	*missing = !file && errno == ENOENT;
	if (!file || fstat(fileno(file), &about)) {
		*trouble = *missing ? must_print("%s does not exist yet", path)
				    : must_print("%s cannot be read: %s", path, strerror(errno));
		if (file)
			fclose(file);
		return false;
	}
	const char *wrong = head_read(file, &head);

	if (!wrong)
		wrong = head_judge(&head, (off_t)ftell(file), about.st_size);
	fclose(file);
	if (wrong)
		*trouble = must_print("%s is damaged: %s", path, wrong);
	else
		head_to_shape(&head, out);
	head_clear(&head);
	return !wrong;
}

void shape_clear(struct shape *shape)
{
	free(shape->names);
	*shape = (struct shape){ 0 };
}

bool shape_find(const struct shape *shape, const char *name, size_t *at)
{
	for (size_t i = 0; i < shape->names_count; i++)
		if (strcmp(shape->names[i], name) == 0) {
			*at = i;
			return true;
		}
	return false;
}

/* ---- rows ----------------------------------------------------------------- */

struct answer {
	time_t start, end;
	unsigned long step, count;
	char **names;
	rrd_value_t *values;
};

static void free_names(const struct answer *answer)
{
	for (unsigned long i = 0; i < answer->count; i++)
		rrd_freemem(answer->names[i]);
	rrd_freemem(answer->names);
}

/* librrd gives up at once when the file is locked; the archivist holds it
 * for milliseconds. */
static bool ask(const char *path, struct block block, struct answer *answer, char **trouble)
{
	for (int tries = 0;; tries++) {
		/* An end one second short of the last row's own: an end on the row
		 * is answered with a row more than was asked for. */
		*answer = (struct answer){ .start = (time_t)block.from, .end = (time_t)block.to - 1,
					   .step = (unsigned long)block.row_size };
		rrd_clear_error();
		if (rrd_fetch_r(path, block.function, &answer->start, &answer->end, &answer->step,
				&answer->count, &answer->names, &answer->values) == 0)
			return true;

		const char *why = rrd_get_error();

		if (!strstr(why, "lock") || tries == LOCK_TRIES) {
			*trouble = must_print("%s cannot be read: %s", path, why);
			rrd_clear_error();
			return false;
		}
		nanosleep(&(struct timespec){ .tv_nsec = LOCK_PAUSE_MS * 1000000L }, NULL);
	}
}

enum fetched fetch_block(const char *path, const struct shape *shape, struct block block,
			 double **values, char **trouble)
{
	struct answer answer;

	if (!ask(path, block, &answer, trouble))
		return FETCH_FAILED;

	bool as_asked = answer.step == (unsigned long)block.row_size &&
			answer.start == (time_t)block.from && answer.end >= (time_t)block.to &&
			answer.count == shape->names_count;

	free_names(&answer);
	if (!as_asked) {
		fetch_free(answer.values);
		return FETCH_MOVED;
	}
	*values = answer.values; /* not copied: there may be millions */
	return FETCHED;
}

void fetch_free(double *values)
{
	rrd_freemem(values);
}
