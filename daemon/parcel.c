/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Parcels through a pipe; see parcel.h.
 */
#include "daemon/parcel.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/memory.h"

bool parcel_wrap(struct parcel_out *out, enum parcel_kind kind, const char *text)
{
	size_t length = strlen(text);
	struct parcel_head head = { .kind = kind, .length = (uint32_t)length };

	if (out->bytes || length > MESSAGE_CEILING)
		return false;
	*out = (struct parcel_out){ .size = sizeof head + length };
	out->bytes = must_calloc(out->size, 1);
	memcpy(out->bytes, &head, sizeof head);
	memcpy(out->bytes + sizeof head, text, length);
	return true;
}

bool parcel_give(struct parcel_out *out, int fd)
{
	while (out->given < out->size) {
		ssize_t given = write(fd, out->bytes + out->given, out->size - out->given);

		if (given < 0 && errno == EINTR)
			continue;
		if (given < 0)
			return false;
		out->given += (size_t)given;
	}
	parcel_drop(out);
	return true;
}

void parcel_drop(struct parcel_out *out)
{
	free(out->bytes);
	*out = (struct parcel_out){ 0 };
}

/* Reads up to `size` bytes of the parcel to `where`, of which `done` are
 * there.  PARCEL_HERE when it has all of them. */
static enum parcel_state fill(struct parcel_in *in, int fd, void *where, size_t done, size_t size)
{
	while (done < size) {
		ssize_t got = read(fd, (char *)where + done, size - done);

		if (got < 0 && errno == EINTR)
			continue;
		if (got <= 0)
			return got < 0 && errno == EAGAIN ? PARCEL_LATER : PARCEL_END;
		done += (size_t)got;
		in->got += (size_t)got;
	}
	return PARCEL_HERE;
}

enum parcel_state parcel_take(struct parcel_in *in, int fd)
{
	const size_t head = sizeof in->head;

	if (in->got >= head && in->got == head + in->head.length)
		parcel_clear(in); /* the last one */
	if (in->got < head) {
		enum parcel_state state = fill(in, fd, &in->head, in->got, head);

		if (state != PARCEL_HERE)
			return state;
		if (in->head.kind >= PARCEL_KINDS || in->head.length > MESSAGE_CEILING)
			return PARCEL_END;
		in->text = must_calloc(in->head.length + 1, 1);
	}
	return fill(in, fd, in->text, in->got - head, in->head.length);
}

void parcel_clear(struct parcel_in *in)
{
	free(in->text);
	in->text = NULL;
	in->got = 0;
}
