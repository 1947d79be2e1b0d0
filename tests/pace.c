/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The daemon under a clock that a test moves: a library that is loaded before
 * all others (LD_PRELOAD), for tests only.  Time stands still until the test
 * sets it on; the test learns when the watcher has done all that was due at
 * that time, so nothing here depends on how fast the machine is.  Told by the
 * environment:
 *   PACE_CLOCK  a file that holds a struct pace: both clocks, and counts
 *   PACE_STEP   a FIFO: a byte asks whether all is done
 *   PACE_DONE   a FIFO: a byte answers that it is
 * The watcher is the process that was started; of its children only the clocks
 * are moved.
 */
#include <dlfcn.h>
#include <fcntl.h>
#include <poll.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/epoll.h>
#include <sys/mman.h>
#include <sys/time.h>
#include <time.h>
#include <unistd.h>

enum {
	SLICE_MS = 20,          /* a child looks at the clock so often */
	BILLION = 1000000000,
};

/* What the test and the daemon share. */
struct pace {
	_Atomic int64_t wall, monotonic; /* ns */
	_Atomic uint64_t taken;          /* bytes the watcher has read from terminals, ... */
	_Atomic uint64_t said;           /* ... and must have read before all is done */
};

/* Among what libev has registered, our own. */
static const uint64_t STEP_MARK = UINT64_C(0x70616365);

/* A library of the process it serves has nowhere else to keep this. */
static struct {
	struct pace *shared;
	int step, done;
	bool owed;              /* the test waits for a byte */
	_Atomic int64_t seen, crept; /* ns: see monotonic() */
	pid_t started;
} pace = { .step = -1, .done = -1 };

/* What the name would mean without this library; POSIX wants the detour from
 * an object's address to a function's (dlsym, rationale). */
static void next(const char *name, void *function)
{
	void *address = dlsym(RTLD_NEXT, name);

	memcpy(function, &address, sizeof address);
}

static int open_named(const char *variable)
{
	const char *path = getenv(variable);

	return path ? open(path, O_RDWR | O_NONBLOCK | O_CLOEXEC) : -1;
}

/* Another library's constructor may want the clock before ours has run. */
__attribute__((constructor)) static void begin(void)
{
	void *page = MAP_FAILED;

	if (pace.shared)
		return;
	int fd = open_named("PACE_CLOCK");

	if (fd >= 0)
		page = mmap(NULL, sizeof *pace.shared, PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
	if (page == MAP_FAILED)
		abort();
	close(fd);
	pace.shared = page;
	pace.step = open_named("PACE_STEP");
	pace.done = open_named("PACE_DONE");
	pace.started = getpid();
}

static int64_t wall(void)
{
	begin();
	return atomic_load(&pace.shared->wall);
}

/* A nanosecond passes with each look: libev waits for a moment that is later than
 * the one a timer is due at. */
static int64_t monotonic(void)
{
	begin();
	int64_t now = atomic_load(&pace.shared->monotonic);

	if (atomic_exchange(&pace.seen, now) != now)
		atomic_store(&pace.crept, 0);
	return now + atomic_fetch_add(&pace.crept, 1);
}

/* ---- the clocks ------------------------------------------------------------ */

int clock_gettime(clockid_t clock, struct timespec *out)
{
	int (*real)(clockid_t, struct timespec *);
	int64_t now;

	switch (clock) {
	case CLOCK_REALTIME:
	case CLOCK_REALTIME_COARSE:
		now = wall();
		break;
	case CLOCK_MONOTONIC:
	case CLOCK_MONOTONIC_COARSE:
	case CLOCK_MONOTONIC_RAW:
		now = monotonic();
		break;
	default:
		next("clock_gettime", &real);
		return real(clock, out);
	}
	*out = (struct timespec){ .tv_sec = now / BILLION, .tv_nsec = now % BILLION };
	return 0;
}

int gettimeofday(struct timeval *restrict out, void *restrict zone)
{
	int64_t now = wall();

	(void)zone;
	*out = (struct timeval){ .tv_sec = now / BILLION, .tv_usec = now % BILLION / 1000 };
	return 0;
}

time_t time(time_t *out)
{
	time_t now = (time_t)(wall() / BILLION);

	if (out)
		*out = now;
	return now;
}

/* ---- waiting ---------------------------------------------------------------- */

/* The step's descriptor lies beside libev's own.  libev makes its set anew when it
 * finds that a descriptor's number was taken by another, and says nothing of it; that
 * ours is there already does no harm. */
static void join(int epoll)
{
	struct epoll_event event = { .events = EPOLLIN, .data = { .u64 = STEP_MARK } };

	if (getpid() == pace.started)
		epoll_ctl(epoll, EPOLL_CTL_ADD, pace.step, &event);
}

/* Takes our own out of what is ready; returns how many are left. */
static int without_step(struct epoll_event *events, int count)
{
	char byte;
	int left = 0;

	for (int i = 0; i < count; i++)
		if (events[i].data.u64 == STEP_MARK)
			pace.owed |= read(pace.step, &byte, 1) == 1;
		else
			events[left++] = events[i];
	return left;
}

static void answer(void)
{
	if (pace.owed &&
	    atomic_load(&pace.shared->taken) >= atomic_load(&pace.shared->said) &&
	    write(pace.done, "", 1) == 1)
		pace.owed = false;
}

int epoll_wait(int epoll, struct epoll_event *events, int most, int timeout)
{
	int (*real)(int, struct epoll_event *, int, int);
	int64_t until = monotonic() + (int64_t)timeout * (BILLION / 1000);

	next("epoll_wait", &real);
	join(epoll);
	for (;;) {
		int count = real(epoll, events, most, 0);

		if (count < 0)
			return count;
		bool stepped = count > 0;

		count = without_step(events, count);
		if (count > 0 || (timeout >= 0 && monotonic() >= until))
			return count;
		if (stepped)
			continue;
		answer();
		count = without_step(events, real(epoll, events, most, -1));
		if (count != 0)
			return count;
	}
}

int poll(struct pollfd *fds, nfds_t count, int timeout)
{
	int (*real)(struct pollfd *, nfds_t, int);
	int64_t until = monotonic() + (int64_t)timeout * (BILLION / 1000);

	next("poll", &real);
	for (;;) {
		int ready = real(fds, count, timeout == 0 ? 0 : SLICE_MS);

		if (ready != 0 || (timeout >= 0 && monotonic() >= until))
			return ready;
	}
}

/* ---- what was read ---------------------------------------------------------- */

ssize_t read(int fd, void *bytes, size_t size)
{
	ssize_t (*real)(int, void *, size_t);

	next("read", &real);
	ssize_t got = real(fd, bytes, size);

	if (got > 0 && fd != pace.step && getpid() == pace.started && isatty(fd))
		atomic_fetch_add(&pace.shared->taken, (uint64_t)got);
	return got;
}
