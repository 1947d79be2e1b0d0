/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Templates of the keeper's own: every value arrives as what it is, wherever
 * it stands.
 */
#include "tests/cm.h"

#include <jansson.h>

#include "conf/placeholder.h"

/* Everything that could break out of where it stands. */
static const char *const wild[FIELDS] = {
	[FIELD_TITLE] = "T\"3\" <b>&'\\ ä",
	[FIELD_TEXT] = "one\r\ntwo\ttab\x01 \x7f{id}",
	[FIELD_PRIORITY] = "now",
	[FIELD_ENCLOSURE] = "3rd tub + 50 % = half; a~b",
	[FIELD_ID] = "msg_1",
};

static void expect(const char *template, enum escaping escaping, const char *expected)
{
	char *filled = placeholder_fill(template, wild, escaping);

	assert_string_equal(filled, expected);
	free(filled);
}

static void words_of_the_fields(void **state)
{
	(void)state;
	assert_string_equal(placeholder_word(FIELD_TITLE), "title");
	assert_string_equal(placeholder_word(FIELD_TEXT), "text");
	assert_string_equal(placeholder_word(FIELD_PRIORITY), "priority");
	assert_string_equal(placeholder_word(FIELD_ENCLOSURE), "enclosure");
	assert_string_equal(placeholder_word(FIELD_ID), "id");
}

static void a_media_type_has_its_escaping(void **state)
{
	(void)state;
	static const struct {
		const char *type;
		enum escaping escaping;
	} cases[] = {
		{ "application/json", ESCAPE_JSON },
		{ "Application/JSON; charset=utf-8", ESCAPE_JSON },
		{ "application/cloudevents+json", ESCAPE_JSON },
		{ "text/html;charset=utf-8", ESCAPE_XML },
		{ "text/xml", ESCAPE_XML },
		{ "application/xml", ESCAPE_XML },
		{ "application/atom+xml ; x=y", ESCAPE_XML },
		{ " application/x-www-form-urlencoded", ESCAPE_FORM },
		{ "text/plain; charset=utf-8", ESCAPE_NONE },
		{ "text/plain; x=+json", ESCAPE_NONE },
		{ "application/jsonlines", ESCAPE_NONE },
		{ "+json", ESCAPE_NONE },
		{ "", ESCAPE_NONE },
	};

	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
		if (escaping_for(cases[i].type) != cases[i].escaping)
			fail_msg("\"%s\" is escaped wrongly", cases[i].type);
}

static void what_is_no_field_stands_for_itself(void **state)
{
	(void)state;
	expect("{ \"a\": {}, \"b\": {\"id\": \"{id}\"} } {", ESCAPE_NONE,
	       "{ \"a\": {}, \"b\": {\"id\": \"msg_1\"} } {");
	expect("{{id}} {id {id}} {Id} {ID} {titles} { id }", ESCAPE_NONE,
	       "{msg_1} {id msg_1} {Id} {ID} {titles} { id }");
	expect("", ESCAPE_JSON, "");
	/* what a value holds is not filled in again */
	expect("{text}", ESCAPE_NONE, "one\r\ntwo\ttab\x01 \x7f{id}");
}

static void an_unknown_field_is_named(void **state)
{
	(void)state;
	size_t length = 0;
	const char *word = placeholder_unknown("{\"a\": \"{title}\", {x y} {tilte} {what}", &length);

	assert_int_equal(length, 5);
	assert_memory_equal(word, "tilte", 5);
	assert_null(placeholder_unknown("{title}{text}{priority}{enclosure}{id} {} { {1}", &length));
	assert_null(placeholder_unknown("no field at all", &length));
	assert_null(placeholder_unknown("{open", &length));
}

/* reference: RFC 8259 section 7; jansson reads back what was meant. */
static void in_json(void **state)
{
	(void)state;
	char *filled = placeholder_fill("{\"a\":\"{title}\",\"b\":\"{text}\",\"c\":\"{enclosure}\"}",
					wild, ESCAPE_JSON);
	json_t *object = json_loads(filled, 0, NULL);

	assert_non_null(object);
	assert_string_equal(json_string_value(json_object_get(object, "a")), wild[FIELD_TITLE]);
	assert_string_equal(json_string_value(json_object_get(object, "b")), wild[FIELD_TEXT]);
	assert_string_equal(json_string_value(json_object_get(object, "c")), wild[FIELD_ENCLOSURE]);
	json_decref(object);
	free(filled);
}

/* reference: XML 1.0 sections 2.2, 2.4 and 4.6. */
static void in_xml_and_html(void **state)
{
	(void)state;
	expect("<p title='{title}'>{title}</p>", ESCAPE_XML,
	       "<p title='T&quot;3&quot; &lt;b&gt;&amp;&#39;\\ ä'>"
	       "T&quot;3&quot; &lt;b&gt;&amp;&#39;\\ ä</p>");
	expect("{text}", ESCAPE_XML, "one\r\ntwo\ttab   {id}");
}

/* reference: WHATWG URL standard, section 5.2. */
static void in_a_form(void **state)
{
	(void)state;
	expect("t={title}&e={enclosure}", ESCAPE_FORM,
	       "t=T%223%22+%3Cb%3E%26%27%5C+%C3%A4&e=3rd+tub+%2B+50+%25+%3D+half%3B+a%7Eb");
	expect("{text}", ESCAPE_FORM, "one%0D%0Atwo%09tab%01+%7F%7Bid%7D");
}

/* A line break in a header would be another header, or a body. */
static void in_a_header(void **state)
{
	(void)state;
	expect("X-Text: {text}", ESCAPE_HEADER, "X-Text: one  two tab   {id}");
	expect("X-A: {id}\r\nX-B: {priority}", ESCAPE_HEADER, "X-A: msg_1  X-B: now");
	expect("X-Title: {title}", ESCAPE_HEADER, "X-Title: T\"3\" <b>&'\\ ä");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(words_of_the_fields),
		cmocka_unit_test(a_media_type_has_its_escaping),
		cmocka_unit_test(what_is_no_field_stands_for_itself),
		cmocka_unit_test(an_unknown_field_is_named),
		cmocka_unit_test(in_json),
		cmocka_unit_test(in_xml_and_html),
		cmocka_unit_test(in_a_form),
		cmocka_unit_test(in_a_header),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
