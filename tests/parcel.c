/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Parcels through a pipe that takes and gives as little as it likes.
 */
#include "tests/cm.h"

#include <errno.h>
#include <fcntl.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/parcel.h"

struct ends {
	int take, give;
};

static int open_pipe(void **state)
{
	static struct ends ends;
	int both[2];

	assert_int_equal(pipe2(both, O_NONBLOCK | O_CLOEXEC), 0);
	ends = (struct ends){ both[0], both[1] };
	*state = &ends;
	return 0;
}

static int close_pipe(void **state)
{
	struct ends *ends = *state;

	close(ends->take);
	if (ends->give >= 0)
		close(ends->give);
	return 0;
}

static void expect(struct parcel_in *in, int fd, enum parcel_kind kind, const char *text)
{
	assert_int_equal(parcel_take(in, fd), PARCEL_HERE);
	assert_int_equal(in->head.kind, kind);
	assert_string_equal(in->text, text);
}

static void one_after_another(void **state)
{
	struct ends *ends = *state;
	struct parcel_out out = { 0 };
	struct parcel_in in = { 0 };

	assert_true(parcel_wrap(&out, PARCEL_WAKE, ""));
	assert_false(parcel_wrap(&out, PARCEL_BEAT, "{}")); /* one at a time */
	assert_true(parcel_give(&out, ends->give));
	assert_true(parcel_wrap(&out, PARCEL_MESSAGE, "{\"a\":1}"));
	assert_true(parcel_give(&out, ends->give));
	assert_true(parcel_wrap(&out, PARCEL_BEAT, "{}"));
	assert_true(parcel_give(&out, ends->give));
	expect(&in, ends->take, PARCEL_WAKE, "");
	expect(&in, ends->take, PARCEL_MESSAGE, "{\"a\":1}");
	expect(&in, ends->take, PARCEL_BEAT, "{}");
	assert_int_equal(parcel_take(&in, ends->take), PARCEL_LATER);
	close(ends->give);
	ends->give = -1;
	assert_int_equal(parcel_take(&in, ends->take), PARCEL_END);
	parcel_clear(&in);
}

/* More than a pipe holds: given in parts, taken in parts, whole in the end. */
static void a_long_one_in_parts(void **state)
{
	struct ends *ends = *state;
	char *text = must_calloc(MESSAGE_CEILING + 2, 1);
	struct parcel_out out = { 0 };
	struct parcel_in in = { 0 };
	int waits = 0;
	enum parcel_state got = PARCEL_LATER;

	for (size_t i = 0; i < MESSAGE_CEILING; i++)
		text[i] = (char)('a' + i % 26);
	assert_true(parcel_wrap(&out, PARCEL_MESSAGE, text));
	while (got == PARCEL_LATER) {
		if (!parcel_give(&out, ends->give)) {
			assert_int_equal(errno, EAGAIN);
			waits++;
		}
		got = parcel_take(&in, ends->take);
	}
	assert_int_equal(got, PARCEL_HERE);
	assert_true(waits > 1);
	assert_string_equal(in.text, text);
	text[MESSAGE_CEILING] = 'x';
	assert_false(parcel_wrap(&out, PARCEL_MESSAGE, text)); /* too long */
	parcel_clear(&in);
	free(text);
}

static void byte_by_byte(void **state)
{
	struct ends *ends = *state;
	const struct parcel_head head = { PARCEL_BEAT, 3 };
	struct parcel_in in = { 0 };
	char bytes[sizeof head + 3];

	memcpy(bytes, &head, sizeof head);
	memcpy(bytes + sizeof head, "abc", 3);
	for (size_t i = 0; i < sizeof bytes; i++) {
		assert_int_equal(parcel_take(&in, ends->take), PARCEL_LATER);
		assert_int_equal(write(ends->give, bytes + i, 1), 1);
	}
	expect(&in, ends->take, PARCEL_BEAT, "abc");
	parcel_clear(&in);
}

static void what_is_no_parcel_ends_it(void **state)
{
	struct ends *ends = *state;
	static const struct parcel_head heads[] = { { PARCEL_KINDS, 0 },
						    { PARCEL_BEAT, MESSAGE_CEILING + 1 } };

	for (size_t i = 0; i < 2; i++) {
		struct parcel_in in = { 0 };

		assert_int_equal(write(ends->give, &heads[i], sizeof heads[i]), sizeof heads[i]);
		assert_int_equal(parcel_take(&in, ends->take), PARCEL_END);
		parcel_clear(&in);
	}
}

#define test(name) cmocka_unit_test_setup_teardown(name, open_pipe, close_pipe)

int main(void)
{
	const struct CMUnitTest tests[] = {
		test(one_after_another),
		test(a_long_one_in_parts),
		test(byte_by_byte),
		test(what_is_no_parcel_ends_it),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
