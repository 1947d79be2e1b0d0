/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Fields of a line template; see template.h.
 */
#include "conf/template.h"

#include <string.h>

#include "conf/memory.h"
#include "conf/utf8.h"

static bool is_field(const char *at, size_t length, const char *name)
{
	return strlen(name) == length && strncmp(at, name, length) == 0;
}

/* Marks one field; returns what is wrong with it, or NULL. */
static char *take_field(const char *at, size_t length, struct template_fields *fields)
{
	char name[BRIEF_TEXT] = "";
	bool *seen = NULL;

	if (length == 0)
		return NULL;
	if (is_field(at, length, "probe"))
		seen = &fields->probe;
	else if (is_field(at, length, "temperature") || is_field(at, length, "temperature_f"))
		seen = &fields->temperature;
	else if (is_field(at, length, "humidity"))
		seen = &fields->humidity;
	strncat(name, at, length < BRIEF_TEXT - 1 ? length : BRIEF_TEXT - 1);
	if (!seen)
		return must_print("has the unknown field {%s}; known are {probe}, {temperature}, "
				  "{temperature_f}, {humidity}, and {} for what is skipped",
				  name);
	if (*seen)
		return must_print("has {%s} for a value it names already", name);
	*seen = true;
	fields->fahrenheit = fields->fahrenheit || is_field(at, length, "temperature_f");
	return NULL;
}

char *template_read(const char *text, struct template_fields *out)
{
	struct template_fields fields = { 0 };

	if (strlen(text) > TEMPLATE_MOST)
		return must_print("is longer than %d bytes", TEMPLATE_MOST);
	if (strpbrk(text, "\r\n"))
		return must_copy("holds the end of a line; leave that out, it is always there");
	for (const char *at = text; *at != '\0';) {
		const char *end;
		char *wrong;

		if (*at == '}')
			return must_copy("has a } without its {");
		if (*at++ != '{')
			continue;
		end = at + strcspn(at, "{}");
		if (*end != '}')
			return must_copy("has a { without its }");
		wrong = take_field(at, (size_t)(end - at), &fields);
		if (wrong)
			return wrong;
		at = end + 1;
		if (*at == '{')
			return must_copy("has two fields with nothing between them; put the "
					 "separator there that the board prints");
	}
	if (!fields.temperature && !fields.humidity)
		return must_copy("needs {temperature}, {temperature_f} or {humidity}");
	*out = fields;
	return NULL;
}
