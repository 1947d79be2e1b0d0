/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Header lines and media types against the grammar of RFC 9110 (sections
 * 5.1, 5.5, 5.6.2, 5.6.4 and 8.3.1).
 */
#include "tests/cm.h"

#include "conf/headerline.h"
#include "conf/memory.h"

static void assert_line(const char *text, const char *expected)
{
	char *line = NULL, *wrong = headerline_read(text, &line);

	if (wrong)
		fail_msg("%s: %s", text, wrong);
	assert_string_equal(line, expected);
	free(line);
}

static void assert_refused(const char *text, const char *words)
{
	char *line = NULL, *wrong = headerline_read(text, &line);

	assert_null(line);
	if (!wrong || !strstr(wrong, words))
		fail_msg("%s: %s", text, wrong ? wrong : "taken");
	assert_null(strstr(wrong, "HIDDEN"));
	free(wrong);
}

static void good_lines(void **state)
{
	(void)state;
	assert_line("X-Token: a", "X-Token: a");
	assert_line("X-Token:a", "X-Token: a");
	assert_line("X-Token:   a: b  ", "X-Token: a: b");
	assert_line("!#$%&'*+-.^_`|~09azAZ: {title}", "!#$%&'*+-.^_`|~09azAZ: {title}");
	assert_line("Subject: Größe", "Subject: Größe");
	assert_line("Hosts: a", "Hosts: a");
	assert_line("Webhook: a", "Webhook: a");
}

static void bad_lines(void **state)
{
	(void)state;
	char *text = must_calloc(HEADER_MOST + 2, 1);

	assert_refused("", "Name: value");
	assert_refused("HIDDEN", "Name: value");
	assert_refused("X Token: HIDDEN", "Name: value");
	assert_refused("X-Token : HIDDEN", "Name: value");
	assert_refused("X-{id}: HIDDEN", "Name: value");
	assert_refused("Größe: HIDDEN", "Name: value");
	assert_refused("X-Token:", "no value");
	assert_refused("X-Token:  ", "no value");
	assert_refused("X-Token: HIDDEN\r\n", "one line");
	assert_refused("X-Token: HIDDEN\tb", "one line");
	assert_refused("X-Token: \xff", "one line");
	memset(text, 'a', HEADER_MOST + 1);
	text[1] = ':';
	assert_refused(text, "one line");
	text[HEADER_MOST] = '\0';
	text[2] = ' ';
	assert_line(text, text);
	free(text);
}

static void those_each_post_has_of_itself(void **state)
{
	(void)state;
	static const char *const own[] = {
		"Content-Type",	 "Content-Length",    "Host",		    "Transfer-Encoding",
		"webhook-id",	 "webhook-timestamp", "webhook-signature", "Expect",
		"Connection",	 "HOST",	      "WebHook-ID",	    "content-type",
	};

	for (size_t i = 0; i < sizeof own / sizeof *own; i++) {
		char *text = must_print("%s: HIDDEN", own[i]);

		assert_refused(text, "is set by Warmside itself");
		free(text);
	}
}

static void media_types(void **state)
{
	(void)state;
	/* RFC 9110, 8.3.1: its four spellings of one type, then others.  Parameters
	 * without anything in them (5.6.6), as in "text/plain;", are not taken. */
	static const char *const good[] = {
		"text/html;charset=utf-8",  "Text/HTML;Charset=\"utf-8\"",
		"text/html; charset=\"utf-8\"", "text/html;charset=UTF-8",
		"application/json",	    "application/vnd.a+json",
		"a/b ; c=d ; e=\"f \\\" g\"",
	};
	static const char *const bad[] = {
		"",	     "text",	      "text/",		  "/plain",
		"text/a b",  "text /plain",   "text/plain;",	  "text/plain; charset",
		"text/plain; charset=", "text/plain; charset =a", "text/plain; a=\"b",
		"text/plain; a=\"b\\",	"text/plain, text/html", "text/pl\xc3\xa4in",
	};

	for (size_t i = 0; i < sizeof good / sizeof *good; i++)
		if (!is_media_type(good[i]))
			fail_msg("refused: %s", good[i]);
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		if (is_media_type(bad[i]))
			fail_msg("taken: %s", bad[i]);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(good_lines),
		cmocka_unit_test(bad_lines),
		cmocka_unit_test(those_each_post_has_of_itself),
		cmocka_unit_test(media_types),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
