/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Any text as each of the small files one process leaves for another: now.json,
 * a message of the outbox, a request of the keeper's, a parcel of the pipe.
 */
#include "tests/fuzz/fuzz.h"

#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <jansson.h>

#include "conf/asking.h"
#include "conf/memory.h"
#include "conf/utf8.h"
#include "daemon/parcel.h"
#include "report/latest.h"

static void as_now(const char *text, size_t size)
{
	json_t *root = json_loadb(text, size, 0, NULL);
	struct latest latest, back;

	if (latest_from_json(root, &latest)) {
		fuzz_holds(fuzz_is_instant(latest.time));
		for (size_t e = 0; e < latest.count; e++)
			for (size_t p = 0; p < latest.enclosures[e].count; p++) {
				const struct latest_place *one = latest.enclosures[e].places;
				const struct latest_place *two = &one[p];

				fuzz_holds(latest_compare(one, two) == -latest_compare(two, one));
			}
		json_t *again = latest_to_json(&latest);
		char *words = json_dumps(again, 0);

		fuzz_holds(words && latest_from_json(again, &back) && back.count == latest.count);
		latest_clear(&back);
		latest_clear(&latest);
		free(words);
		json_decref(again);
	}
	json_decref(root);
}

/* What comes back of a message is the same message. */
static void as_message(const char *text, size_t size)
{
	struct outgoing message, back;

	if (!outgoing_from_text(text, size, &message)) {
		fuzz_holds(!message.body && !message.parts && !message.replaced);
		return;
	}
	fuzz_holds(message.content_type && message.body);
	fuzz_holds(memchr(message.id, 0, sizeof message.id) &&
		   memchr(message.alert, 0, sizeof message.alert) &&
		   memchr(message.webhook, 0, sizeof message.webhook));
	fuzz_holds(fuzz_is_instant(message.created));
	char *words = outgoing_text(&message), *name = outbox_name(&message);
	size_t length;

	fuzz_holds(words && name);
	if (outbox_webhook(name, &length))
		fuzz_holds(length < NAME_SIZE);
	fuzz_holds(outgoing_from_text(words, strlen(words), &back));
	fuzz_holds(strcmp(message.id, back.id) == 0 && strcmp(message.body, back.body) == 0 &&
		   strcmp(message.content_type, back.content_type) == 0 &&
		   message.part_count == back.part_count &&
		   message.replaced_count == back.replaced_count);
	outgoing_clear(&back);
	outgoing_clear(&message);
	free(name);
	free(words);
}

static void as_request(const char *text, size_t size)
{
	char *folder = must_print("%s/requests", fuzz_folder()), *path, *fault;
	struct asking asking;

	mkdir(folder, 0700);
	path = fuzz_file("requests/000000000001-1.ask", text, size);
	fuzz_holds(asking_take(folder, &asking, &fault));
	if (fault) {
		fuzz_holds(fuzz_is_sentence(fault));
	} else {
		fuzz_holds(asking.what < ASKED_KINDS && fuzz_is_instant(asking.time));
		fuzz_holds(asking.seconds >= 0 && asking.seconds <= SHELVE_MOST);
		fuzz_holds(utf8_is_line(asking.by, BY_SIZE) && utf8_is_line(asking.note, NOTE_SIZE));
	}
	free(fault);
	fuzz_holds(!asking_take(folder, &asking, &fault)); /* it has been taken away */
	free(path);
	free(folder);
}

static void as_parcels(const char *text, size_t size)
{
	struct parcel_in in = { 0 };
	int ends[2];
	enum parcel_state state;

	if (size > 4096)
		size = 4096; /* which a pipe takes without anybody reading */
	fuzz_holds(pipe2(ends, O_NONBLOCK | O_CLOEXEC) == 0);
	fuzz_holds(!size || write(ends[1], text, size) == (ssize_t)size);
	close(ends[1]);
	while ((state = parcel_take(&in, ends[0])) == PARCEL_HERE)
		fuzz_holds(in.head.kind < PARCEL_KINDS && in.head.length <= MESSAGE_CEILING &&
			   in.text[in.head.length] == '\0');
	fuzz_holds(state == PARCEL_END);
	parcel_clear(&in);
	close(ends[0]);
}

/* A name in the outbox folder may be anybody's. */
static void as_name(const char *text)
{
	size_t length;
	const char *part = outbox_webhook(text, &length);

	fuzz_holds(!part || (part >= text && part + length <= text + strlen(text)));
	part = outbox_id(text, &length);
	fuzz_holds(!part || (part >= text && part + length <= text + strlen(text)));
	fuzz_holds(isfinite(outbox_created(text)));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct fuzz_bytes in = { data, size };
	char *whole = must_calloc(size + 1, 1);

	if (size)
		memcpy(whole, data, size);
	as_now(whole, size);
	as_message(whole, size);
	as_request(whole, size);
	as_parcels(whole, size);
	free(whole);
	whole = fuzz_part(&in);
	as_name(whole);
	free(whole);
	return 0;
}
