/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Lines of a board: any template, and any bytes that come in on its port; then the guess of
 * who does not know the template.  Input: the template up to a form feed, the bytes.
 */
#include "tests/fuzz/fuzz.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/utf8.h"
#include "daemon/listen.h"

/* What a number of so many digits can be at most. */
static const double beyond = 1e257;

static void look_at_values(const struct line_template *template, const struct line_values *values)
{
	fuzz_holds(template->names_probe == (values->token[0] != '\0'));
	fuzz_holds(strlen(values->token) <= LINE_CEILING);
	for (int q = 0; q < QUANTITIES; q++) {
		fuzz_holds(!values->has[q] || template->reads[q]);
		fuzz_holds(values->has[q] ? fabs(values->value[q]) < beyond : values->value[q] == 0);
	}
}

/* A good line of the template, with these values, is read as them. */
static void there_and_back(const struct line_template *template)
{
	char line[LINE_CEILING + 1];
	size_t used = 0;
	struct line_values values;
	static const char *const words[LINE_FIELDS] = {
		[FIELD_PROBE] = "x", [FIELD_TEMPERATURE] = "25.5", [FIELD_FAHRENHEIT] = "77.9",
		[FIELD_HUMIDITY] = "48", [FIELD_SKIP] = "x",
	};

	for (size_t i = 0; i <= template->count; i++) {
		const char *word = i < template->count ? words[template->field[i]] : "";

		/* A literal may itself hold what ends or lengthens a field. */
		if (i > 0 && strpbrk(template->text[i], "x0123456789. \t"))
			return;
		if (used + strlen(template->text[i]) + strlen(word) > LINE_CEILING)
			return;
		memcpy(line + used, template->text[i], strlen(template->text[i]));
		used += strlen(template->text[i]);
		memcpy(line + used, word, strlen(word));
		used += strlen(word);
	}
	line[used] = '\0';
	fuzz_holds(line_match(template, line, &values));
	if (template->reads[TEMPERATURE])
		fuzz_holds(values.has[TEMPERATURE] && fabs(values.value[TEMPERATURE] - 25.5) < 1e-9);
	if (template->reads[HUMIDITY])
		fuzz_holds(values.has[HUMIDITY] && values.value[HUMIDITY] == 48);
}

/* All lines of the bytes, given to the assembler in lumps of so many; what was heard. */
static void hear(const struct line_template *template, struct fuzz_bytes in, size_t lump,
		 struct heard *heard)
{
	struct line_assembler assembler = { 0 };
	struct line_values values;

	*heard = (struct heard){ .baud = 9600 };
	while (in.left) {
		struct fuzz_bytes some = fuzz_some(&in, lump);

		while (some.left) {
			enum line_event event;
			size_t taken = line_take(&assembler, (const char *)some.at, some.left, &event);

			fuzz_holds(taken > 0 && taken <= some.left);
			fuzz_some(&some, taken);
			heard->bad += event == LINE_BAD;
			if (event != LINE_WHOLE)
				continue;
			fuzz_holds(assembler.text[0] && strlen(assembler.text) <= LINE_CEILING);
			char *mended = strdup(assembler.text);

			utf8_mend(mended);
			fuzz_holds(strcmp(mended, assembler.text) == 0);
			free(mended);
			if (template && line_match(template, assembler.text, &values))
				look_at_values(template, &values);
			heard_add(heard, assembler.text, (double)in.left);
		}
	}
}

static void look_at_guess(struct heard *heard)
{
	struct line_values values;
	struct heard_probe list[HEARD_PROBES];
	size_t matching = 0;
	double interval;

	heard_guess(heard);
	if (heard->guessed) {
		struct line_template again;
		char *wrong = template_read(heard->guess.text, &again);

		fuzz_holds(!wrong && again.count == heard->guess.compiled.count);
		for (size_t i = 0; i < heard->count; i++)
			matching += line_match(&again, heard->lines[i], &values);
		fuzz_holds(heard->guess.matching >= GUESS_LEAST &&
			   matching >= heard->guess.matching);
	}
	size_t count = heard_probes(heard, list);

	fuzz_holds(count <= HEARD_PROBES && (count > 0) == heard->guessed);
	fuzz_holds(!heard_interval(heard, &interval) || isfinite(interval));
	const char *stranger = heard_stranger(heard);

	fuzz_holds(!stranger || !line_match(&heard->guess.compiled, stranger, &values));
	heard_settle(heard, 0);
	if (heard->guess.counter)
		fuzz_holds(!strstr(heard->guess.text, "{probe}") &&
			   !heard->guess.compiled.names_probe);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct fuzz_bytes in = { data, size };
	char *text = fuzz_part(&in);
	struct line_template template;
	char *wrong = template_read(text, &template);
	struct heard whole, bits;

	fuzz_holds(wrong ? wrong[0] != '\0' : template.reads[TEMPERATURE] || template.reads[HUMIDITY]);
	if (!wrong)
		there_and_back(&template);
	hear(wrong ? NULL : &template, in, SIZE_MAX, &whole);
	hear(NULL, in, 3, &bits);
	/* However the bytes come in. */
	fuzz_holds(whole.bad == bits.bad && whole.count == bits.count);
	for (size_t i = 0; i < whole.count; i++)
		fuzz_holds(strcmp(whole.lines[i], bits.lines[i]) == 0);
	look_at_guess(&whole);
	heard_free(&whole);
	heard_free(&bits);
	free(wrong);
	free(text);
	return 0;
}
