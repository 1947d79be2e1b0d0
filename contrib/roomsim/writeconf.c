/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Writes the configuration that fits a simulated room; see writeconf.h.
 */
#include "contrib/roomsim/writeconf.h"

#include <stdlib.h>

#include "conf/memory.h"
#include "conf/words.h"

enum { RACK_EVERY = 10, BOARD_EVERY = 30 };     /* s */

char *rack_link(const char *rack, size_t number)
{
	return number == 0 ? must_copy(rack) : must_print("%s-%zu", rack, number + 1);
}

static char *rack_name(size_t number)
{
	return rack_link("rack", number);
}

static void write_buses(const struct world *world, const struct conf_options *options, FILE *out)
{
	for (size_t i = 0; i < world->racks; i++) {
		char *name = rack_name(i), *link = rack_link(options->rack, i);

		fprintf(out,
			"bus \"%s\" { port = \"%s\"  speaks = \"modbus\"  baud = 9600  "
			"parity = \"none\"  every = \"%ds\" }\n",
			name, link, options->every ? options->every : RACK_EVERY);
		free(name);
		free(link);
	}
	fprintf(out,
		"bus \"board\" { port = \"%s\"  speaks = \"lines\"  "
		"line = \"{probe},{temperature},{humidity}\"  every = \"%ds\" }\n\n",
		options->board, options->every ? options->every : BOARD_EVERY);
}

static void write_probe(const struct probe_sim *probe, FILE *out)
{
	char *rack = rack_name(probe->rack);

	if (probe->on_board)
		fprintf(out, "probe \"%s\" { bus = \"board\"", probe->name);
	else
		fprintf(out, "probe \"%s\" { bus = \"%s\"  address = %d  "
			     "temperature = \"input 1 / 10\"",
			probe->name, rack, probe->address);
	if (!probe->on_board && probe->has_humidity)
		fputs("  humidity = \"input 2 / 10\"", out);
	if (probe->home == OFFSET_DESIGN && probe->place == COOL_SIDE)
		fprintf(out, "  temperature_correction = \"%.1f C\"  "
			     "humidity_correction = \"%.0f %%\"",
			-OFFSET_CELSIUS, -OFFSET_HUMIDITY);
	fputs(" }\n", out);
	free(rack);
}

static void write_rule(const struct wanted *band, FILE *out)
{
	fprintf(out,
		"\t\t%s { day = \"%s\"  night = \"%s\"  patience = \"%s\"",
		quantity_word(band->quantity), band->day, band->night, band->patience);
	if (band->limits)
		fprintf(out, "  limits = \"%s\"", band->limits);
	if (band->daily)
		fprintf(out, "  daily = \"%s\"", band->daily);
	if (band->limits_patience)
		fprintf(out, "  limits_patience = \"%s\"", band->limits_patience);
	fputs("  source = \"written for this simulated room\" }\n", out);
}

static void write_species(const struct kind *kind, FILE *out)
{
	fprintf(out, "species \"%s\" {\n\tlatin = \"%s\"\n", kind->name, kind->latin);
	for (const struct wanted *band = kind->bands; band->day; band++) {
		if (band == kind->bands || band[-1].place != band->place)
			fprintf(out, "\t%s {\n", place_word(band->place));
		write_rule(band, out);
		if (!band[1].day || band[1].place != band->place)
			fputs("\t}\n", out);
	}
	fputs("}\n\n", out);
}

static void write_home(const struct world *world, size_t index, FILE *out)
{
	const struct home *home = &world->homes[index];

	fprintf(out, "enclosure \"%s\" {\n\tlabel = \"%s\"  species = \"%s\"  build = \"%s\"\n",
		home->name, home->label, species_list[home->design->species].name,
		build_word(home->design->build));
	for (size_t i = 0; i < world->probe_count; i++)
		if (world->probes[i].home == index)
			fprintf(out, "\t%s { probe = \"%s\" }\n",
				place_word(world->probes[i].place), world->probes[i].name);
	fputs("}\n", out);
}

bool write_conf(const struct world *world, const struct conf_options *options, FILE *out)
{
	fprintf(out,
		"# The reptile room of the school at Wendlemarsh, an invented town: written by\n"
		"# roomsim to fit what it simulates.  Its bands are no husbandry advice.\n\n"
		"units = \"C\"\nstate = \"%s\"\n\n"
		"day { from = \"08:00\"  to = \"20:00\"  changeover = \"90min\" }\n\n",
		options->state);
	write_buses(world, options, out);
	for (size_t i = 0; i < world->probe_count; i++)
		write_probe(&world->probes[i], out);
	fputs("\nroom {\n\tprobe = \"room\"\n"
	      "\ttemperature { day = \"18..26 C\"  limits = \"14..32 C\"  patience = \"2h\" }\n"
	      "\thumidity { day = \"30..60 %\"  limits = \"15..80 %\"  patience = \"4h\" }\n}\n\n",
	      out);
	for (size_t i = 0; i < SPECIES; i++)
		write_species(&species_list[i], out);
	for (size_t i = 0; i < world->home_count; i++)
		write_home(world, i, out);
	if (options->webhook)
		fprintf(out, "\nwebhook \"phone\" { endpoint = \"%s\"  body = \"json\" }\n",
			options->webhook);
	return fflush(out) == 0 && !ferror(out);
}
