/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A drafted configuration; see draft_text.h.
 */
#include "daemon/draft_text.h"

#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "conf/utf8.h"
#include "daemon/found.h"

/* A bus of the draft gets a name by its kind and number: "rack", "rack 2". */
enum { BUS_NAME = 24, EXAMPLES = 3 };

/* The first probes, for the example of an enclosure. */
struct examples {
	char names[EXAMPLES][FOUND_NAME];
	size_t count;
};

static bool is_probe(const struct scan_found *found)
{
	return found->done && !found->garbled && found->fit_count > 0;
}

static size_t probes_of(const struct search *search)
{
	char names[HEARD_PROBES][FOUND_NAME];
	size_t count = 0;

	if (search->heard.guessed)
		return found_names("", &search->heard, names);
	for (size_t i = 0; i < search->scan.found_count; i++)
		count += is_probe(&search->scan.found[i]);
	return count;
}

size_t draft_probes(const struct draft *draft)
{
	size_t count = 0;

	for (size_t i = 0; i < draft->count; i++)
		count += probes_of(&draft->ports[i].search);
	return count;
}

/* ---- head ---- */

static void print_head(FILE *out, const char *path)
{
	const char *dash_c = path ? " -c " : "";
	char *file = must_copy(path ? path : "");

	utf8_mend(file);

	fputs("# warmside.conf - a draft, made by warmsided --draft of what answered on the ports.\n"
	      "#\n"
	      "# BEFORE YOU TRUST IT WITH AN ANIMAL\n"
	      "#   - Warmside only watches and tells.  It is no thermostat and no safety\n"
	      "#     device: it switches nothing on or off.\n"
	      "#   - Every heater needs a thermostat of its own, and besides it a cut-off\n"
	      "#     against overheating that depends on neither this program, this computer,\n"
	      "#     the network nor a timer.\n"
	      "#   - Probes fail, are moved by the animal and fall into the water bowl.  Look\n"
	      "#     at your animals every day.\n"
	      "#   - Mains wiring, and anything electrical near water, is work for a licensed\n"
	      "#     electrician and for your local codes.\n"
	      "#   - The bands in species.conf are starting points for healthy adults.  Ask a\n"
	      "#     veterinarian for exotic animals about yours, and go there first when one\n"
	      "#     shows distress.\n"
	      "#\n"
	      "# WHAT IS LEFT TO DO\n"
	      "#   1. Which probe is which?  Let\n", out);
	fprintf(out, "#          warmsided%s%s --read --watch\n", dash_c, file);
	fputs("#      run, and warm one after the other in the hand.\n"
	      "#   2. Say below where each sits: copy the example of an enclosure, once for each.\n"
	      "#   3. Say below whom alerts go to.\n", out);
	fprintf(out, "#   4. Look for slips with\n"
		"#          warmsided%s%s --check\n"
		"#      and start the watch.\n", dash_c, file);
	fputs("#\n"
	      "# As it stands it can be run: the probes are read, but they sit nowhere, so that\n"
	      "# nothing is kept and nobody is told.  warmside.conf(5) explains every key.\n", out);
	free(file);
}

/* True for a file that will lie beside the installed one, where a service keeps its. */
static bool is_installed(const char *path)
{
	static const char installed[] = DEFAULT_CONF;
	size_t folder = (size_t)(strrchr(installed, '/') - installed) + 1;

	return path && strncmp(path, installed, folder) == 0 && !strchr(path + folder, '/');
}

static void print_general(FILE *out, const struct draft *draft, const char *path)
{
	const char *state = is_installed(path) ? "/var/lib/warmside" : "state";

	fputs("\n\n# ---- for people -------------------------------------------------------------\n\n"
	      "# In which unit temperatures are shown: \"C\" or \"F\".\n"
	      "#units = \"C\"\n\n"
	      "# Where archives, alerts and unsent messages are kept: a path that does not begin with /\n"
	      "# is beside this file.  The folder is made at the first start, and must belong to the\n"
	      "# user that warmsided runs as.\n", out);
	fprintf(out, "state = \"%s\"\n\n# Bands of species, each with its source.\n", state);
	if (draft->species)
		fprintf(out, "include(\"%s\")\n", draft->species);
	else
		fputs("# The file that comes with Warmside was not found beside this one; copy it here and\n"
		      "# take the # away.\n"
		      "#include(\"species.conf\")\n", out);
	fputs("\n# When day and night begin, in local time, and how long after each switch an\n"
	      "# enclosure may take to follow.\n"
	      "#day { from = \"08:00\"  to = \"20:00\"  changeover = \"90min\" }\n", out);
}

/* ---- probes ---- */

static void bus_name(char name[BUS_NAME], const char *kind, size_t number)
{
	if (number == 1)
		snprintf(name, BUS_NAME, "%s", kind);
	else
		snprintf(name, BUS_NAME, "%s %zu", kind, number);
}

static void remember(struct examples *examples, const char *name)
{
	if (examples->count < EXAMPLES)
		snprintf(examples->names[examples->count++], FOUND_NAME, "%.40s", name);
}

static void print_rack(FILE *out, const struct drafted_port *port, const char *bus,
		       struct examples *examples)
{
	const struct scan *scan = &port->search.scan;
	bool has_bus = false;

	fputs("# Modbus probes on one line.  Each is asked every 60 s; every = \"10s\" asks more often.\n"
	      "# Registers were told by their values alone: compare with the probes' paper.\n", out);
	fputs("# Where values left a doubt, a probe was taken to be like the others on its line.\n", out);
	for (size_t i = 0; i < scan->found_count; i++) {
		const struct scan_found *found = &scan->found[i];
		char name[FOUND_NAME];

		snprintf(name, sizeof name, "%s %d", bus, found->address);
		if (is_probe(found)) {
			if (!has_bus)
				found_print_rack(out, bus, port->name, found);
			has_bus = true;
			remember(examples, name);
		}
		if (found->done)
			found_print_probe(out, name, bus, found, CELSIUS);
	}
}

static void print_board(FILE *out, const struct drafted_port *port, const char *bus,
			struct examples *examples)
{
	const struct heard *heard = &port->search.heard;
	char names[HEARD_PROBES][FOUND_NAME];
	size_t count = found_names(bus, heard, names);

	fprintf(out, "# A board that prints lines, such as\n#     %s\n", heard->lines[heard->count - 1]);
	fputs("# `line` was guessed from them: {probe} is the name it prints, {} is skipped; `every` is\n"
	      "# how often they come.\n", out);
	found_print_board(out, bus, port->name, heard);
	found_print_board_probes(out, bus, heard, CELSIUS);
	for (size_t i = 0; i < count; i++)
		remember(examples, names[i]);
}

static void print_probes(FILE *out, const struct draft *draft, struct examples *examples)
{
	size_t racks = 0, boards = 0;
	char name[BUS_NAME];

	fputs("\n\n# ---- probes -----------------------------------------------------------------\n"
	      "#\n"
	      "# A bus is one serial port with probes on it.\n"
	      "#   port          a path, or \"usb:VID:PID\", which finds the adapter under any name\n"
	      "#   speaks        \"modbus\", many addresses to a bus; or \"lines\", a board that prints\n"
	      "#   baud, parity  those at which the probes answered\n"
	      "# A probe is on a bus, at an address; \"input 1 / 10\" is a register, in tenths.\n"
	      "# Names may be changed, here and where they are used below: letters a-z, digits, blanks,\n"
	      "# - and _, at most 40.  Behind each probe stands what it read when this was written.\n", out);
	for (size_t i = 0; i < draft->count; i++) {
		const struct drafted_port *port = &draft->ports[i];

		putc('\n', out);
		if (port->trouble)
			fprintf(out, "# %s.\n", port->trouble);
		if (port->search.heard.guessed) {
			bus_name(name, "board", ++boards);
			print_board(out, port, name, examples);
		} else if (port->search.scan.found_count > 0) {
			bus_name(name, "rack", racks + 1);
			racks += probes_of(&port->search) > 0;
			print_rack(out, port, name, examples);
		}
	}
}

/* ---- where they sit ---- */

static void print_homes(FILE *out, const struct draft *draft, const struct examples *examples)
{
	const char *last = examples->names[examples->count - 1];

	fputs("\n\n# ---- the room and the enclosures --------------------------------------------\n"
	      "#\n"
	      "# Nobody but you knows where a probe sits.  Copy this block once for each enclosure, put\n"
	      "# its probes where they are, and take the # away.  Places are hot_spot, warm_side,\n"
	      "# cool_side, humid_hide and eggs; build is \"tub\", \"glass\", \"screen\", \"pvc\",\n"
	      "# \"melamine\", \"table\" or \"incubator\".\n"
	      "#enclosure \"first\" {\n", out);
	fprintf(out, "#\t%sspecies = \"corn snake\"          # one of %s\n", draft->species ? "" : "#",
		draft->species ? draft->species : "species.conf, when that is included");
	fputs("#\tbuild = \"glass\"\n", out);
	if (examples->count > 1)
		fprintf(out, "#\twarm_side { probe = \"%s\" }\n", examples->names[0]);
	fprintf(out, "#\tcool_side { probe = \"%s\" }\n#}\n",
		examples->names[examples->count > 1 ? 1 : 0]);
	fputs("\n# A probe in the open room tells what the enclosures dry and cool towards.\n", out);
	fprintf(out, "#room { probe = \"%s\" }\n", last);
}

static void print_webhooks(FILE *out, const char *path)
{
	/* The service is handed what lies there; see warmside.conf(5). */
	const char *folder = is_installed(path) ? "secrets/" : "";

	fprintf(out, "\n\n# ---- where alerts go --------------------------------------------------------\n"
		"#\n"
		"# A webhook is an address that messages are posted to.  Whoever has it can post to\n"
		"# you: write it into a file %sphone.url beside this one, keep all others out of\n"
		"# that (chmod 600%s), and take the # away.  Then let\n"
		"#     warmsided --test-alert\n"
		"# send a test.  Without a webhook nobody is told of anything.\n"
		"#webhook \"phone\" {\n"
		"#\tendpoint = \"@%sphone.url\"\n"
		"#\tbody = \"text\"                   # or \"json\"\n"
		"#}\n", folder, *folder ? "" : ", or 640 with the daemon's group", folder);
}

void draft_print(FILE *out, const struct draft *draft, const char *path)
{
	struct examples examples = { .count = 0 };

	print_head(out, path);
	print_general(out, draft, path);
	print_probes(out, draft, &examples);
	if (examples.count > 0)
		print_homes(out, draft, &examples);
	print_webhooks(out, path);
}
