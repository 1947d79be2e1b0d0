/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Heads of archives; see archive_head.h.  The layout is that of librrd's
 * rrd_format.h: static head, data sources, row sizes, then the live part.
 */
#include "daemon/archive_head.h"

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
#include <time.h>
#include <unistd.h>

#include "conf/layout.h"
#include "conf/memory.h"
#include "daemon/files.h"
#include "daemon/log.h"

enum {
	MOST_DS = 256,
	MOST_RRA = 64,
	MOST_PDP = 1000000, /* minutes to a row */
	LOCK_TRIES = 500,
	LOCK_PAUSE_MS = 20,
};

static const uint64_t MOST_ROWS = 1u << 30;
static const int64_t LAST_INSTANT = 1000000000000; /* s since the epoch */

static enum head_state unreadable(char why[ARCHIVE_TEXT])
{
	snprintf(why, ARCHIVE_TEXT, "%s", strerror(errno));
	return HEAD_UNREADABLE;
}

static enum head_state damaged(char why[ARCHIVE_TEXT], const char *what)
{
	snprintf(why, ARCHIVE_TEXT, "%s", what);
	return HEAD_DAMAGED;
}

static size_t static_size(const struct stat_head_t *stat)
{
	return sizeof *stat + stat->ds_cnt * sizeof(struct ds_def_t) +
	       stat->rra_cnt * sizeof(struct rra_def_t);
}

static size_t head_size(const struct stat_head_t *stat)
{
	return static_size(stat) + sizeof(struct live_head_t) +
	       stat->ds_cnt * sizeof(struct pdp_prep_t) +
	       stat->ds_cnt * stat->rra_cnt * sizeof(struct cdp_prep_t) +
	       stat->rra_cnt * sizeof(struct rra_ptr_t);
}

/* The parts of a head held in memory. */
struct parts {
	const struct stat_head_t *stat;
	const struct ds_def_t *ds;
	const struct rra_def_t *rra;
	const struct live_head_t *live;
	const struct rra_ptr_t *row;
};

static struct parts parts_of(const unsigned char *bytes)
{
	struct parts parts = { .stat = (const void *)bytes };

	parts.ds = (const void *)(bytes + sizeof *parts.stat);
	parts.rra = (const void *)(parts.ds + parts.stat->ds_cnt);
	parts.live = (const void *)(bytes + static_size(parts.stat));
	parts.row = (const void *)(bytes + head_size(parts.stat) -
				   parts.stat->rra_cnt * sizeof *parts.row);
	return parts;
}

static bool ended(const char *text, size_t size)
{
	return text[0] && memchr(text, 0, size);
}

/* What is wrong with the first bytes, or NULL. */
static const char *stat_fault(const struct stat_head_t *stat)
{
	if (memcmp(stat->cookie, RRD_COOKIE, sizeof stat->cookie) != 0)
		return "it is no round-robin archive";
	if (strncmp(stat->version, RRD_VERSION3, sizeof stat->version) != 0 &&
	    strncmp(stat->version, RRD_VERSION4, sizeof stat->version) != 0 &&
	    strncmp(stat->version, RRD_VERSION5, sizeof stat->version) != 0)
		return "its format version is unknown";
	if (stat->float_cookie != FLOAT_COOKIE)
		return "it was written on another kind of machine";
	if (stat->pdp_step != ARCHIVE_STEP)
		return "its step is not 60 s";
	if (stat->ds_cnt < 1 || stat->ds_cnt > MOST_DS || stat->rra_cnt < 1 ||
	    stat->rra_cnt > MOST_RRA)
		return "its head has impossible counts";
	return NULL;
}

static bool ds_good(const struct ds_def_t *ds)
{
	return ended(ds->ds_nam, sizeof ds->ds_nam) && strncmp(ds->dst, "GAUGE", DST_SIZE) == 0;
}

static bool rra_good(const struct rra_def_t *rra)
{
	static const char *const names[] = { "AVERAGE", "MIN", "MAX", "LAST" };
	double xff = rra->par[RRA_cdp_xff_val].u_val;
	bool known = false;

	for (size_t i = 0; i < sizeof names / sizeof *names; i++)
		known = known || strncmp(rra->cf_nam, names[i], CF_NAM_SIZE) == 0;
	return known && rra->row_cnt >= 1 && rra->row_cnt <= MOST_ROWS && rra->pdp_cnt >= 1 &&
	       rra->pdp_cnt <= MOST_PDP && xff >= 0 && xff < 1;
}

/* What is wrong with a head whose counts are possible, or NULL. */
static const char *head_fault(const unsigned char *bytes, uint64_t file_size)
{
	struct parts parts = parts_of(bytes);
	uint64_t needed = head_size(parts.stat);

	for (size_t i = 0; i < parts.stat->ds_cnt; i++)
		if (!ds_good(&parts.ds[i]))
			return "its head names impossible data sources";
	for (size_t i = 0; i < parts.stat->rra_cnt; i++) {
		if (!rra_good(&parts.rra[i]) || parts.row[i].cur_row >= parts.rra[i].row_cnt)
			return "its head has impossible rows";
		needed += parts.rra[i].row_cnt * parts.stat->ds_cnt * sizeof(rrd_value_t);
	}
	if (file_size < needed)
		return "it has been cut short";
	if (parts.live->last_up <= 0 || parts.live->last_up > LAST_INSTANT ||
	    parts.live->last_up_usec < 0 || parts.live->last_up_usec > 999999)
		return "its last update is at an impossible time";
	return NULL;
}

static enum head_state load(int fd, struct archive_head *head, char why[ARCHIVE_TEXT])
{
	struct stat_head_t stat;
	struct stat file;

	if (fstat(fd, &file) < 0)
		return unreadable(why);
	if (!S_ISREG(file.st_mode))
		return damaged(why, "it is no file");
	if (file.st_size == 0)
		return damaged(why, "it is empty");
	if (!file_read_at(fd, &stat, sizeof stat, 0))
		return errno ? unreadable(why) : damaged(why, "it has been cut short");
	const char *fault = stat_fault(&stat);

	if (fault)
		return damaged(why, fault);
	head->size = head_size(&stat);
	head->bytes = must_calloc(1, head->size);
	if (!file_read_at(fd, head->bytes, head->size, 0))
		return errno ? unreadable(why) : damaged(why, "it has been cut short");
	fault = head_fault(head->bytes, (uint64_t)file.st_size);
	if (fault)
		return damaged(why, fault);
	head->last = parts_of(head->bytes).live->last_up;
	head->ds_count = stat.ds_cnt;
	off_t hole = lseek(fd, 0, SEEK_HOLE);

	if (hole >= 0 && hole < file.st_size && fallocate(fd, 0, 0, file.st_size) < 0 &&
	    errno != EOPNOTSUPP)
		return unreadable(why);
	return HEAD_GOOD;
}

enum head_state archive_head_read(const char *path, struct archive_head *head,
				  char why[ARCHIVE_TEXT])
{
	int fd = open(path, O_RDWR | O_CLOEXEC | O_NONBLOCK);

	*head = (struct archive_head){ 0 };
	if (fd < 0 && errno == ENOENT)
		return HEAD_ABSENT;
	if (fd < 0 && errno == EISDIR)
		return damaged(why, "it is no file");
	if (fd < 0)
		return unreadable(why);
	enum head_state state = load(fd, head, why);

	close(fd);
	if (state != HEAD_GOOD)
		archive_head_free(head);
	return state;
}

void archive_head_free(struct archive_head *head)
{
	free(head->bytes);
	*head = (struct archive_head){ 0 };
}

const char *archive_head_ds(const struct archive_head *head, size_t i)
{
	return parts_of(head->bytes).ds[i].ds_nam;
}

/* A reader must never see half a head. */
static bool lock_file(int fd)
{
	const struct timespec pause = { .tv_nsec = LOCK_PAUSE_MS * 1000000L };
	struct flock lock = { .l_type = F_WRLCK, .l_whence = SEEK_SET };

	for (int i = 0; i < LOCK_TRIES; i++) {
		if (fcntl(fd, F_SETLK, &lock) == 0)
			return true;
		if (errno != EACCES && errno != EAGAIN && errno != EINTR)
			return false;
		nanosleep(&pause, NULL);
	}
	return false;
}

/* Whether the bytes can be a head of ours. */
static bool is_head(const unsigned char *bytes, size_t size)
{
	struct stat_head_t stat;

	if (size < sizeof stat)
		return false;
	memcpy(&stat, bytes, sizeof stat);
	return !stat_fault(&stat) && size == head_size(&stat) && !head_fault(bytes, UINT64_MAX);
}

/* Not over another archive, nor over one that is older than the head: somebody
 * has put that file there. */
static bool put_into(int fd, const unsigned char *bytes, size_t size, bool *foreign)
{
	unsigned char *now = must_calloc(1, size);
	struct parts old = parts_of(bytes);
	bool done = file_read_at(fd, now, size, 0) || errno == 0;

	*foreign = memcmp(now, bytes, static_size(old.stat)) != 0 ||
		   parts_of(now).live->last_up < old.live->last_up;
	if (done && !*foreign)
		done = file_write_at(fd, bytes, size, 0) && fdatasync(fd) == 0;
	free(now);
	return done;
}

bool archive_head_put(const char *path, const unsigned char *bytes, size_t size,
		      char why[ARCHIVE_TEXT])
{
	bool foreign = !is_head(bytes, size), done = true;
	int fd = foreign ? -1 : open(path, O_RDWR | O_CLOEXEC | O_NONBLOCK);

	if (!foreign && fd < 0)
		done = errno == ENOENT;
	if (fd >= 0)
		done = lock_file(fd) && put_into(fd, bytes, size, &foreign);
	if (!done)
		snprintf(why, ARCHIVE_TEXT, "cannot put its saved head back: %s",
			 errno == EAGAIN ? "another program has it locked"
					 : strerror(errno));
	else if (foreign)
		log_warn("%s: a saved head of another archive is dropped", path);
	if (fd >= 0)
		close(fd);
	return done;
}
