/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Answers of all kinds; see hook_answers.h.
 */
#include "tests/hook_answers.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "conf/memory.h"

static const double SLOW_SECONDS = 3;

/* 64 bytes: the piece that long bodies are made of. */
static const char piece[] = "and so on and so on and so on and so on and so on and so on and\n";

static const char *reason(long status)
{
	return status == 200   ? "OK"
	       : status == 302 ? "Found"
	       : status == 410 ? "Gone"
	       : status == 500 ? "Internal Server Error"
	       : status == 503 ? "Service Unavailable"
			       : "As Told";
}

/* RFC 9110, section 5.6.7; the days' and months' names are English in any
 * locale. */
static char *http_date(time_t time)
{
	char text[40];
	struct tm parts;

	gmtime_r(&time, &parts);
	strftime(text, sizeof text, "%a, %d %b %Y %H:%M:%S GMT", &parts);
	return must_copy(text);
}

/* The header line that says more than the status does. */
static char *more_of(long status, char kind, long number)
{
	if (kind == '@') {
		char *date = http_date(time(NULL) + number);
		char *line = must_print("Retry-After: %s\r\n", date);

		free(date);
		return line;
	}
	if (kind == ':' || status == 503)
		return must_print("Retry-After: %ld\r\n", kind == ':' ? number : 2);
	return must_copy(status == 302 ? "Location: /elsewhere\r\n" : "");
}

static struct answer status_answer(const char *word)
{
	char *rest;
	long status = strtol(word, &rest, 10), number = *rest ? strtol(rest + 1, NULL, 10) : 0;
	size_t pads = *rest == '+' ? (size_t)number * (1 << 20) / (sizeof piece - 1) : 0;
	char *more = more_of(status, *rest, number);
	struct answer answer = { .pad = piece, .pads = pads };

	answer.text = must_print("HTTP/1.1 %ld %s\r\n%sContent-Length: %zu\r\n"
				 "Connection: close\r\n\r\n",
				 status, reason(status), more, pads * (sizeof piece - 1));
	free(more);
	return answer;
}

bool answer_known(const char *word)
{
	static const char *const others[] = { "endless", "headers", "hang", "reset",
					      "slow", "strange" };

	for (size_t i = 0; i < sizeof others / sizeof *others; i++)
		if (strcmp(word, others[i]) == 0)
			return true;
	if (strspn(word, "0123456789") != 3)
		return false;
	word += 3;
	return !*word || (strchr(":@+", *word) && word[1] &&
			  word[1 + strspn(word + 1, "-0123456789")] == '\0');
}

struct answer answer_of(const char *word)
{
	struct answer answer = { 0 };

	if (strcmp(word, "hang") == 0) {
		answer.hangs = true;
	} else if (strcmp(word, "reset") == 0) {
		answer.resets = true;
	} else if (strcmp(word, "strange") == 0) {
		answer.text = must_copy("HTTP/2 20000 OK\r\n\r\n");
	} else if (strcmp(word, "endless") == 0) {
		answer.stays = true;
		answer.text = must_copy("HTTP/1.1 200 OK\r\nContent-Length: 1000000\r\n\r\n"
					"and so on ");
	} else if (strcmp(word, "headers") == 0) {
		answer.text = must_copy("HTTP/1.1 503 Service Unavailable\r\n");
		answer.pad = "X-And: so on\r\n";
		answer.pads = SIZE_MAX;
	} else {
		answer = status_answer(strcmp(word, "slow") == 0 ? "200" : word);
		answer.delay = strcmp(word, "slow") == 0 ? SLOW_SECONDS : 0;
	}
	return answer;
}
