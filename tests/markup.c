/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a keeper wrote never becomes markup.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "report/markup.h"

static void becomes(const char *text, const char *expected)
{
	char *made = NULL;
	size_t size;
	FILE *out = open_memstream(&made, &size);

	markup_text(out, text);
	fclose(out);
	assert_string_equal(made, expected);
	free(made);
	out = open_memstream(&made, &size);
	markup_attribute(out, "title", text);
	fclose(out);
	assert_int_equal(size, strlen(expected) + sizeof " title=\"\"" - 1);
	assert_memory_equal(made, " title=\"", 8);
	assert_memory_equal(made + 8, expected, strlen(expected));
	assert_string_equal(made + 8 + strlen(expected), "\"");
	free(made);
}

/* The five that mean something to a parser: HTML, "Serializing HTML fragments" names &, <, >
 * and ", for quotes of either kind the apostrophe joins them (from memory). */
static void what_would_be_markup(void **state)
{
	(void)state;
	becomes("", "");
	becomes("plain", "plain");
	becomes("&", "&amp;");
	becomes("<script>alert(\"1\")</script>",
		"&lt;script&gt;alert(&quot;1&quot;)&lt;/script&gt;");
	becomes("it's", "it&#39;s");
	becomes("&&<<", "&amp;&amp;&lt;&lt;");
	becomes("&amp;", "&amp;amp;"); /* what looks escaped is not */
	becomes("a > b", "a &gt; b");
	becomes("a\001b\177c\td\n", "abc\td\n"); /* no place in XML, but for white space */
}

static void other_alphabets_stay_as_they_are(void **state)
{
	(void)state;
	becomes("Змея", "Змея");
	becomes("Φίδι & <蛇>", "Φίδι &amp; &lt;蛇&gt;");
	becomes("ثعبان \"1\"", "ثعبان &quot;1&quot;");
	becomes("🦎'", "🦎&#39;");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_would_be_markup),
		cmocka_unit_test(other_alphabets_stay_as_they_are),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
