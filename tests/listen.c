/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Listening to a board that speaks when asked, on a pseudo-terminal whose other
 * end is a process that plays it.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#include "daemon/await.h"
#include "daemon/listen.h"

enum { NAME = 64 };

struct board {
	char name[NAME];
	pid_t pid;
	int near;               /* held so that the line is up until end_board */
	int asked;              /* what it was asked, as it came */
};

/* Answers each line it is asked by the next of the answers, the end of which is silence
 * or, if it leaves, that of the line. */
static void play(int far, int asked, const char *const *answers, bool leaves)
{
	char byte;

	while ((*answers || !leaves) && read(far, &byte, 1) == 1) {
		if (write(asked, &byte, 1) != 1)
			return;
		if (byte != '\n' || !*answers)
			continue;
		if (write(far, *answers, strlen(*answers)) < 0)
			return;
		answers++;
	}
}

static struct board begin_board(const char *const *answers, bool leaves)
{
	struct board board;
	int ends[2], far = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
	struct termios t;

	assert_true(far >= 0);
	assert_int_equal(grantpt(far) | unlockpt(far), 0);
	assert_int_equal(ptsname_r(far, board.name, sizeof board.name), 0);
	board.near = open(board.name, O_RDWR | O_NOCTTY | O_CLOEXEC);
	assert_int_equal(tcgetattr(board.near, &t), 0);
	cfmakeraw(&t); /* no echo before it is opened as it should be */
	assert_int_equal(tcsetattr(board.near, TCSANOW, &t), 0);
	assert_int_equal(pipe(ends), 0);
	board.pid = fork();
	if (board.pid == 0) {
		close(board.near);
		close(ends[0]);
		play(far, ends[1], answers, leaves);
		_exit(0);
	}
	close(far);
	close(ends[1]);
	board.asked = ends[0];
	return board;
}

/* What it was asked, whole. */
static void end_board(struct board *board, char *asked, size_t size)
{
	size_t length = 0;
	ssize_t got;

	close(board->near);
	while ((got = read(board->asked, asked + length, size - 1 - length)) > 0)
		length += (size_t)got;
	asked[length] = '\0';
	close(board->asked);
	assert_int_equal(waitpid(board->pid, NULL, 0), board->pid);
}

static enum listen_end listen_to(struct board *board, const char *ask, double first,
				 struct heard *heard, char why[PORT_WHY])
{
	const struct bus bus = { .port = board->name, .baud = 9600, .parity = PARITY_NONE,
				 .stop_bits = 1, .ask = (char *)ask };
	int signals = await_signals();
	enum listen_end end = listen_run(&bus, first, signals, heard, why);

	close(signals);
	return end;
}

/* Two answers, so that it is known how far apart they come. */
static void it_speaks_when_asked(void **state)
{
	(void)state;
	static const char *const answers[] = { "a,21.5,48\nb,22.0,50\n", "a,21.6,48\nb,22.1,50\n", NULL };
	static const char *const asks[][2] = { { "read", "read\nread\n" }, { "r\n", "r\nr\n" } };
	struct heard_probe probes[HEARD_PROBES];
	char why[PORT_WHY] = "", asked[80];
	struct heard heard;

	for (size_t i = 0; i < sizeof asks / sizeof *asks; i++) {
		struct board board = begin_board(answers, false);
		enum listen_end end = listen_to(&board, asks[i][0], 20, &heard, why);

		if (end != LISTEN_OVER)
			fail_msg("%d: %s", end, why);
		assert_true(heard.guessed);
		assert_int_equal(heard_probes(&heard, probes), 2);
		assert_string_equal(probes[0].values.token, "a");
		assert_string_equal(probes[1].values.token, "b");
		heard_free(&heard);
		end_board(&board, asked, sizeof asked);
		assert_string_equal(asked, asks[i][1]);
	}
}

static void who_does_not_answer_is_given_up(void **state)
{
	(void)state;
	static const char *const none[] = { NULL };
	struct board board = begin_board(none, false);
	char why[PORT_WHY] = "", asked[80];
	struct heard heard;

	assert_int_equal(listen_to(&board, "read", 0.1, &heard, why), LISTEN_OVER);
	assert_int_equal(heard.bytes, 0);
	assert_false(heard.guessed);
	heard_free(&heard);
	end_board(&board, asked, sizeof asked);
	assert_string_equal(asked, "read\n");
}

/* Probes are asked for by name where no name is known: nothing is sent. */
static void an_ask_for_a_probe_is_not_sent(void **state)
{
	(void)state;
	static const char *const none[] = { NULL };
	struct board board = begin_board(none, false);
	char why[PORT_WHY] = "", asked[80];
	struct heard heard;

	assert_int_equal(listen_to(&board, "read {probe}", 0.1, &heard, why), LISTEN_OVER);
	heard_free(&heard);
	end_board(&board, asked, sizeof asked);
	assert_string_equal(asked, "");
}

static void one_that_goes_away_is_told_of(void **state)
{
	(void)state;
	static const char *const one[] = { "a,21", NULL };
	struct board board = begin_board(one, true);
	char why[PORT_WHY] = "", asked[80], wanted[NAME + 20];
	struct heard heard;

	assert_int_equal(listen_to(&board, "read", 20, &heard, why), LISTEN_NO_PORT);
	snprintf(wanted, sizeof wanted, "%s has gone away", board.name);
	assert_string_equal(why, wanted);
	assert_false(heard.guessed);
	heard_free(&heard);
	end_board(&board, asked, sizeof asked);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(it_speaks_when_asked),
		cmocka_unit_test(who_does_not_answer_is_given_up),
		cmocka_unit_test(an_ask_for_a_probe_is_not_sent),
		cmocka_unit_test(one_that_goes_away_is_told_of),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
