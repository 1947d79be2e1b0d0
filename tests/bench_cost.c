/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What two shell commands cost, run in turn: the medians of their CPU time
 * (user and system, of all their processes) and of their wall time, and the
 * most memory one process of each had.
 *
 *     bench_cost ROUNDS OURS CPU WALL THEIRS
 *
 * fails when a ratio ours / theirs is above CPU or WALL (0: any is allowed);
 * the first round is not counted.
 *
 *     bench_cost ROUNDS COMMAND
 *
 * only tells.
 */
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { MOST_ROUNDS = 100 };

struct costs {
	double cpu[MOST_ROUNDS], wall[MOST_ROUNDS]; /* s */
	long memory;            /* kB, the most so far */
};

static double seconds_of(const struct rusage *use)
{
	return (double)(use->ru_utime.tv_sec + use->ru_stime.tv_sec) +
	       1e-6 * (double)(use->ru_utime.tv_usec + use->ru_stime.tv_usec);
}

static double steady(void)
{
	struct timespec now;

	clock_gettime(CLOCK_MONOTONIC, &now);
	return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void run(const char *command, struct costs *costs, size_t round)
{
	struct rusage use;
	int status;
	double began = steady();
	pid_t pid = fork();

	if (pid == 0) {
		if (freopen("/dev/null", "w", stdout))
			execl("/bin/sh", "sh", "-c", command, (char *)NULL);
		_exit(127);
	}
	if (pid < 0 || wait4(pid, &status, 0, &use) < 0 || status != 0) {
		fprintf(stderr, "bench_cost: this fails: %s\n", command);
		exit(1);
	}
	costs->cpu[round] = seconds_of(&use);
	costs->wall[round] = steady() - began;
	if (use.ru_maxrss > costs->memory)
		costs->memory = use.ru_maxrss;
}

static int smaller(const void *a, const void *b)
{
	double one = *(const double *)a, other = *(const double *)b;

	return (one > other) - (one < other);
}

static double median(double *list, size_t count)
{
	qsort(list, count, sizeof *list, smaller);
	return (list[(count - 1) / 2] + list[count / 2]) / 2;
}

/* Tells the ratio; false when it is above what is allowed. */
static bool judge(const char *what, double ratio, const char *most)
{
	double allowed = strtod(most, NULL);

	printf("  %s ratio %.3f", what, ratio);
	if (allowed > 0)
		printf(" (allowed %.2f)", allowed);
	putchar('\n');
	return allowed <= 0 || ratio <= allowed;
}

int main(int argc, char *argv[])
{
	static struct costs ours, theirs;
	long rounds = argc > 2 ? strtol(argv[1], NULL, 10) : 0;
	bool two = argc == 6;

	if ((argc != 3 && !two) || rounds < 1 || rounds >= MOST_ROUNDS) {
		fputs("usage: bench_cost ROUNDS OURS [CPU WALL THEIRS]\n", stderr);
		return 2;
	}
	for (long round = -1; round < rounds; round++) {
		size_t at = round < 0 ? 0 : (size_t)round; /* overwritten by the first that counts */

		run(argv[2], &ours, at);
		if (two)
			run(argv[5], &theirs, at);
	}
	double cpu = median(ours.cpu, (size_t)rounds), wall = median(ours.wall, (size_t)rounds);

	printf("  ours:   CPU %.3f s, wall %.3f s, at most %ld kB\n", cpu, wall, ours.memory);
	if (!two)
		return 0;

	double their_cpu = median(theirs.cpu, (size_t)rounds);
	double their_wall = median(theirs.wall, (size_t)rounds);

	printf("  theirs: CPU %.3f s, wall %.3f s, at most %ld kB\n", their_cpu, their_wall,
	       theirs.memory);
	bool good = judge("CPU", cpu / their_cpu, argv[3]);

	return judge("wall", wall / their_wall, argv[4]) && good ? 0 : 1;
}
