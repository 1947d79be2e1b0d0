/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside species for people: all of them in a table; see species.h.
 */
#include "report/species.h"

#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "report/species_rules.h"
#include "report/table.h"

/* A table of eggs, or of those that have sides; their scientific names where the terminal
 * is wide enough. */
struct shape {
	bool eggs, latin;
};

static size_t count_users(const struct conf *conf, const struct species *species)
{
	size_t users = 0;

	for (size_t i = 0; i < conf->enclosure_count; i++)
		users += conf->enclosures[i].species == species;
	return users;
}

static void add_band(struct table *table, const struct species *species, enum place place,
		     enum units units)
{
	const struct rule *rule = &species->rules[place][TEMPERATURE];
	char text[MEASURE_TEXT];

	table_cell(table, rule->has_band ? show_range(rule->day, TEMPERATURE, units, text) : "–");
}

static void add_species(struct table *table, const struct conf *conf,
			const struct species *species, struct shape shape)
{
	char *seasons = must_copy(""), count[24];
	size_t users = count_users(conf, species);

	for (size_t i = 0; i < species->season_count; i++)
		seasons = listed(seasons, species->seasons[i].name);
	snprintf(count, sizeof count, "%zu", users);
	table_inked(table, INK_STRONG, species->name);
	if (shape.latin)
		table_cell(table, species->latin ? species->latin : "–");
	table_cell(table, users ? count : "–");
	if (shape.eggs) {
		add_band(table, species, EGGS, conf->units);
	} else {
		add_band(table, species, WARM_SIDE, conf->units);
		add_band(table, species, COOL_SIDE, conf->units);
	}
	table_cell(table, *seasons ? seasons : "–");
	free(seasons);
}

static bool is_of_eggs(const struct species *species)
{
	for (int p = 0; p < PLACES; p++)
		if (p != EGGS && has_place(species, (enum place)p))
			return false;
	return has_place(species, EGGS);
}

/* Those that are kept come first. */
static void fill_table(struct table *table, const struct conf *conf, struct shape shape)
{
	for (int kept = 1; kept >= 0; kept--)
		for (size_t i = 0; i < conf->species_count; i++) {
			const struct species *species = &conf->species[i];

			if (is_of_eggs(species) == shape.eggs &&
			    (count_users(conf, species) > 0) == kept)
				add_species(table, conf, species, shape);
		}
}

static size_t name_columns(struct shape shape, struct column_head heads[TABLE_COLUMNS])
{
	size_t count = 0;

	heads[count++] = (struct column_head){ "species", TO_LEFT };
	if (shape.latin)
		heads[count++] = (struct column_head){ "latin", TO_LEFT };
	heads[count++] = (struct column_head){ "enclosures", TO_RIGHT };
	if (shape.eggs) {
		heads[count++] = (struct column_head){ "eggs", TO_RIGHT };
	} else {
		heads[count++] = (struct column_head){ "warm side", TO_RIGHT };
		heads[count++] = (struct column_head){ "cool side", TO_RIGHT };
	}
	heads[count++] = (struct column_head){ "seasons", TO_LEFT };
	return count;
}

static void print_table(const struct conf *conf, const struct terminal *terminal, bool eggs)
{
	struct column_head heads[TABLE_COLUMNS];
	struct shape shape = { eggs, .latin = true };
	struct table table;

	table_begin(&table, heads, name_columns(shape, heads));
	fill_table(&table, conf, shape);
	if (!table_fits(&table, terminal)) {
		shape.latin = false;
		table_clear(&table);
		table_begin(&table, heads, name_columns(shape, heads));
		fill_table(&table, conf, shape);
	}
	if (table.count > 0) {
		table_print(&table, terminal);
		fputc('\n', terminal->file);
	}
	table_clear(&table);
}

void species_table(const struct conf *conf, const struct terminal *terminal)
{
	if (conf->species_count == 0) {
		terminal_say(terminal, 0, "No species is configured; include(\"species.conf\") in "
					  "warmside.conf takes in the shipped ones.");
		return;
	}
	print_table(conf, terminal, false);
	print_table(conf, terminal, true);
	terminal_say(terminal, 0, "Temperatures by day; warmside species NAME says all of one, with its "
				  "sources.");
}
