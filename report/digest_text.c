/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The morning look as text; see digest.h.
 */
#include "report/digest.h"

#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "report/cells.h"
#include "report/fill.h"
#include "report/table.h"

enum { INDENT = 2 };

struct digest {
	struct morning *morning;
	const struct terminal *terminal;
	char **parts;           /* by order: of one that is told of all below its complaint, of
				 * one that is only listed what stands in brackets behind it */
	char *air;              /* the room's; NULL when unknown */
};

/* ---- one enclosure ------------------------------------------------------------ */

static void say_note(void *terminal, const char *note)
{
	terminal_print(terminal, INDENT, "%s.", note);
}

static enum ink ink_of(enum cell_name cell)
{
	return cell == BELOW_CELL ? INK_BELOW : cell == ABOVE_CELL ? INK_ABOVE : INK_PLAIN;
}

static void add_row(struct table *table, const struct series_account *series, struct window window,
		    enum units units)
{
	struct figure figures[CELLS];
	char *phrase = series_phrase(series->series);

	series_cells(series, window, units, figures);
	table_cell(table, ""); /* indents it */
	table_cell(table, phrase);
	for (int cell = 0; cell < CELLS; cell++) {
		const struct figure *figure = &figures[cell];
		char *text = must_print("%s%s%s", figure->text, *figure->beside ? " " : "",
					figure->beside);

		if (cell != MEAN_CELL)
			table_inked(table, figure_is_none(figure) ? INK_PLAIN
								  : ink_of((enum cell_name)cell), text);
		free(text);
	}
	free(phrase);
}

static void print_table(const struct terminal *terminal, const struct account *account,
			enum units units)
{
	struct column_head heads[CELLS + 1] = { { "", TO_LEFT }, { "", TO_LEFT } };
	size_t columns = INDENT;
	struct table table;

	for (int cell = 0; cell < CELLS; cell++)
		if (cell != MEAN_CELL)
			heads[columns++] = (struct column_head){ cell_head((enum cell_name)cell),
								 TO_RIGHT };
	table_begin(&table, heads, columns);
	for (size_t i = 0; i < account->count; i++)
		add_row(&table, &account->series[i], account->window, units);
	table_print(&table, terminal);
	table_clear(&table);
}

/* In full what needs somebody; a finding of what was out. */
static void tell(struct terminal *terminal, const struct account *account, enum units units)
{
	bool full = account->need == NEED_LOOK;

	if (account->count) {
		char *finding = account_finding(account, NULL, units);

		say_note(terminal, finding);
		free(finding);
	}
	if (full)
		account_changes(account, units, say_note, terminal);
	account_notes(account, say_note, terminal);
	if (full && account->count)
		print_table(terminal, account, units);
}

/* As it will be written, since the worst is not known before all are. */
static char *told(const struct terminal *terminal, const struct account *account,
		  enum units units)
{
	char *text = NULL;
	size_t length;
	struct terminal part = *terminal;

	part.file = open_memstream(&text, &length);
	if (!part.file)
		return must_copy("");
	tell(&part, account, units);
	fclose(part.file);
	return text;
}

/* What a list says of an enclosure beside its label: "" when it is simply in band. */
static char *listed(const struct account *account, const struct morning_line *line)
{
	char at[MEASURE_TEXT];

	if (account->enclosure->out_of_service)
		return must_copy("out of service");
	if (account->shelved)
		return must_print("shelved until %s",
				  show_instant_local(account->shelved->until, at));
	if (line->need != NEED_NOTHING || line_is_known(line))
		return must_copy("");
	return must_print("%s known", show_share(line->known, at));
}

static bool is_told(const struct morning_line *line)
{
	return line->need <= NEED_ASIDE;
}

static void gather_parts(struct digest *digest)
{
	struct morning *morning = digest->morning;
	enum units units = morning->base.conf->units;

	for (size_t i = 0; i < morning->base.conf->enclosure_count; i++) {
		struct account account;

		morning_account(morning, i, &account);
		digest->parts[i] = is_told(&morning->lines[i])
					   ? told(digest->terminal, &account, units)
					   : listed(&account, &morning->lines[i]);
		if (account.enclosure->is_room)
			digest->air = morning_air(&account, units);
		account_clear(&account);
	}
	morning_sort(morning);
}

/* ---- the whole ------------------------------------------------------------------ */

static void say_strong(const struct terminal *terminal, const char *text)
{
	struct fill fill = fill_begin(terminal, 0, 0);

	fill_text(&fill, INK_STRONG, 0, text);
	fill_break(&fill);
}

static void say_answer(const struct digest *digest)
{
	char *headline = morning_headline(digest->morning);
	char *others = morning_others(digest->morning);
	char *span = morning_span(digest->morning);

	say_strong(digest->terminal, headline);
	if (*others)
		terminal_say(digest->terminal, 0, others);
	fputc('\n', digest->terminal->file);
	terminal_say(digest->terminal, 0, span);
	if (digest->air)
		terminal_say(digest->terminal, 0, digest->air);
	free(headline);
	free(others);
	free(span);
}

static void say_standing(const struct digest *digest)
{
	const struct morning *morning = digest->morning;

	terminal_print(digest->terminal, 0, "%s%s", standing_title(morning),
		       morning->standing_count ? ":" : "");
	for (size_t i = 0; i < morning->standing_count; i++) {
		struct fill fill = fill_begin(digest->terminal, INDENT, 2 * (size_t)INDENT);
		char *text = morning_standing(morning, morning->standing[i]);

		fill_text(&fill, INK_STRONG, 0, priority_word(morning->standing[i]->last.priority));
		fill_text(&fill, INK_PLAIN, INDENT, text);
		fill_break(&fill);
		free(text);
	}
}

static void say_line(const struct digest *digest, const struct morning_line *line)
{
	struct fill fill = fill_begin(digest->terminal, 0, INDENT);
	char *label = must_print("%s:", shown_label(line->enclosure));
	char *words = line_words(line);

	fill_text(&fill, INK_STRONG, 0, label);
	fill_text(&fill, INK_PLAIN, 1, words);
	fill_break(&fill);
	fputs(digest->parts[line->order], digest->terminal->file);
	free(label);
	free(words);
}

/* From the i-th line on all of the same need in one list; returns where that ends. */
static size_t say_list(const struct digest *digest, size_t i)
{
	const struct morning *morning = digest->morning;
	struct fill fill = fill_begin(digest->terminal, 0, 0);
	enum need need = morning->lines[i].need;

	for (bool more = true; more; i++) {
		const struct morning_line *line = &morning->lines[i];
		const char *beside = digest->parts[line->order];

		more = i + 1 < morning->count && morning->lines[i + 1].need == need;
		char *text = must_print("%s%s%s%s%s", shown_label(line->enclosure), *beside ? " (" : "",
					beside, *beside ? ")" : "", more ? "," : "");

		fill_text(&fill, INK_PLAIN, 1, text);
		free(text);
	}
	fill_break(&fill);
	return i;
}

static void say_groups(const struct digest *digest)
{
	const struct morning *morning = digest->morning;
	const struct morning_line *lines = morning->lines;
	bool past = morning_is_past(morning);

	for (size_t i = 0; i < morning->count;) {
		bool opens = i == 0 || lines[i].need != lines[i - 1].need;

		fputc('\n', digest->terminal->file);
		if (opens)
			say_strong(digest->terminal, need_title(lines[i].need, past));
		if (is_told(&lines[i]))
			say_line(digest, &lines[i++]);
		else
			i = say_list(digest, i);
	}
}

static void say_end(const struct digest *digest)
{
	char *rows = rows_text(&digest->morning->gathered, digest->morning->base.window);

	fputc('\n', digest->terminal->file);
	say_lines(digest->terminal, rows);
	terminal_say(digest->terminal, 0, morning_caution);
	free(rows);
}

void digest_text(struct morning *morning, const struct terminal *terminal)
{
	size_t count = morning->base.conf->enclosure_count;
	struct digest digest = { morning, terminal, must_calloc(count, sizeof *digest.parts), NULL };

	gather_parts(&digest);
	say_answer(&digest);
	say_standing(&digest);
	say_groups(&digest);
	say_end(&digest);
	for (size_t i = 0; i < count; i++)
		free(digest.parts[i]);
	free(digest.parts);
	free(digest.air);
}
