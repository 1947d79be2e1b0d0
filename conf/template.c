/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Compiling line templates; see template.h.
 */
#include "conf/template.h"

#include <string.h>

#include "conf/memory.h"
#include "conf/utf8.h"

static const char *const words[LINE_FIELDS] = {
	[FIELD_PROBE] = "probe",	      [FIELD_TEMPERATURE] = "temperature",
	[FIELD_FAHRENHEIT] = "temperature_f", [FIELD_HUMIDITY] = "humidity",
	[FIELD_SKIP] = "",
};

static const char blanks[] = " \t";
static const char word_letters[] = "abcdefghijklmnopqrstuvwxyz_";

static bool field_named(const char *at, size_t length, enum line_field *field)
{
	for (int f = 0; f < LINE_FIELDS; f++)
		if (strlen(words[f]) == length && strncmp(words[f], at, length) == 0) {
			*field = (enum line_field)f;
			return true;
		}
	return false;
}

static bool has_field(const struct line_template *template, enum line_field field)
{
	for (size_t i = 0; i < template->count; i++)
		if (template->field[i] == field)
			return true;
	return false;
}

static bool is_doubled(const struct line_template *template, enum line_field field)
{
	if (field == FIELD_TEMPERATURE || field == FIELD_FAHRENHEIT)
		return template->reads[TEMPERATURE];
	return field != FIELD_SKIP && has_field(template, field);
}

/* Adds the field whose word stands here; returns what is wrong, or NULL. */
static char *add_field(struct line_template *template, const char *at, size_t length)
{
	enum line_field field;

	if (!field_named(at, length, &field))
		return must_print("has the unknown field {%.*s}; known are {probe}, {temperature}, "
				  "{temperature_f}, {humidity}, and {} for what is skipped",
				  length < BRIEF_TEXT ? (int)length : BRIEF_TEXT, at);
	if (is_doubled(template, field))
		return must_print("has {%s} for a value it names already", words[field]);
	if (template->count == TEMPLATE_PARTS)
		return must_print("has more than %d fields", TEMPLATE_PARTS);
	if (template->count && !template->text[template->count][0])
		return must_copy("has two fields with nothing between them; put the separator "
				 "there that the board prints");
	template->field[template->count++] = field;
	template->names_probe |= field == FIELD_PROBE;
	template->reads[TEMPERATURE] |= field == FIELD_TEMPERATURE || field == FIELD_FAHRENHEIT;
	template->reads[HUMIDITY] |= field == FIELD_HUMIDITY;
	return NULL;
}

/* Takes one field or one byte at *at, which moves behind it; *used counts the
 * bytes of the present literal. */
static char *take(struct line_template *template, const char **at, size_t *used)
{
	size_t word = **at == '{' ? strspn(*at + 1, word_letters) : 0;
	enum line_field field;

	if (**at == '{' && (*at)[1 + word] == '}') {
		char *wrong = add_field(template, *at + 1, word);

		*at += word + 2;
		*used = 0;
		return wrong;
	}
	if (word > 0 && field_named(*at + 1, word, &field))
		return must_print("has a { without its } before %s", words[field]);
	template->text[template->count][(*used)++] = *(*at)++;
	return NULL;
}

char *template_read(const char *text, struct line_template *out)
{
	size_t length = strlen(text), used = 0;
	char *wrong = NULL;

	memset(out, 0, sizeof *out);
	if (strpbrk(text, "\r\n"))
		return must_copy("holds the end of a line; leave that out, it is always there");
	if (length > TEMPLATE_MOST)
		return must_print("is longer than %d bytes", TEMPLATE_MOST);
	while (length && strchr(blanks, text[length - 1]))
		length--;
	for (const char *at = text + strspn(text, blanks); !wrong && at < text + length;)
		wrong = take(out, &at, &used);
	if (!wrong && !out->reads[TEMPERATURE] && !out->reads[HUMIDITY])
		wrong = must_copy("needs {temperature}, {temperature_f} or {humidity}");
	return wrong;
}
