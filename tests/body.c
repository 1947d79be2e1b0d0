/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One message, as each kind of webhook wants it.
 */
#include "tests/cm.h"

#include "daemon/body.h"

static struct message dry(const json_t *data)
{
	return (struct message){
		.id = "msg_1",
		.type = "alert.raised",
		.time = 1767225600.25,
		.priority = TODAY,
		.enclosure = "Third \"tub\"",
		.title = "T3 too dry, 38 %",
		.text = "Third \"tub\": humidity 38 % now.\nSince 01:00.",
		.data = data,
	};
}

static void as_json(void **state)
{
	(void)state;
	struct webhook webhook = { .body = BODY_JSON };
	struct outgoing out = { 0 };
	json_t *data = json_pack("{s:f,s:n}", "value", 38.2, "worst");
	struct message message = dry(data);

	body_write(&webhook, &message, &out);
	assert_string_equal(out.content_type, "application/json");
	assert_string_equal(out.body,
			    "{\"type\":\"alert.raised\",\"version\":1,"
			    "\"timestamp\":\"2026-01-01T00:00:00Z\",\"data\":{\"value\":38.2,"
			    "\"worst\":null,\"title\":\"T3 too dry, 38 %\",\"text\":"
			    "\"Third \\\"tub\\\": humidity 38 % now.\\nSince 01:00.\"}}");
	assert_string_equal(out.title, "T3 too dry, 38 %");
	assert_null(out.headers);
	assert_int_equal(json_object_size(data), 2); /* the caller's own is left alone */
	outgoing_clear(&out);
	json_decref(data);
}

static void as_json_without_data(void **state)
{
	(void)state;
	struct webhook webhook = { .body = BODY_JSON };
	struct outgoing out = { 0 };
	struct message message = dry(NULL);

	body_write(&webhook, &message, &out);
	json_t *body = json_loads(out.body, 0, NULL);

	assert_int_equal(json_object_size(json_object_get(body, "data")), 2);
	json_decref(body);
	outgoing_clear(&out);
}

static void as_plain_text(void **state)
{
	(void)state;
	struct webhook webhook = { .body = BODY_TEXT };
	struct outgoing out = { 0 };
	struct message message = dry(NULL);

	body_write(&webhook, &message, &out);
	assert_string_equal(out.content_type, "text/plain; charset=utf-8");
	assert_string_equal(out.body, "T3 too dry, 38 %\n\nThird \"tub\": humidity 38 % now.\n"
				      "Since 01:00.");
	outgoing_clear(&out);
}

static void by_a_template(void **state)
{
	(void)state;
	char template[] = "{\"t\":\"{enclosure}: {title}\",\"p\":\"{priority}\",\"i\":\"{id}\"}";
	char type[] = "application/json; charset=utf-8";
	struct webhook webhook = { .body = BODY_TEMPLATE, .template = template,
				   .content_type = type };
	struct outgoing out = { 0 };
	struct message message = dry(NULL);

	body_write(&webhook, &message, &out);
	assert_string_equal(out.content_type, type);
	assert_string_equal(out.body, "{\"t\":\"Third \\\"tub\\\": T3 too dry, 38 %\","
				      "\"p\":\"today\",\"i\":\"msg_1\"}");
	outgoing_clear(&out);
}

static void with_the_keepers_headers(void **state)
{
	(void)state;
	char one[] = "X-Title: {title}", two[] = "X-Text: {text}", three[] = "X-Fixed: {}";
	char *headers[] = { one, two, three };
	struct webhook webhook = { .body = BODY_TEXT, .headers = headers, .header_count = 3 };
	struct outgoing out = { 0 };
	struct message message = dry(NULL);

	body_write(&webhook, &message, &out);
	assert_string_equal(out.headers,
			    "X-Title: T3 too dry, 38 %\n"
			    "X-Text: Third \"tub\": humidity 38 % now. Since 01:00.\n"
			    "X-Fixed: {}\n");
	outgoing_clear(&out);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(as_json),
		cmocka_unit_test(as_json_without_data),
		cmocka_unit_test(as_plain_text),
		cmocka_unit_test(by_a_template),
		cmocka_unit_test(with_the_keepers_headers),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
