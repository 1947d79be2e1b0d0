/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include "daemon/sign.h"

/* reference: the vector in the JavaScript, Python and Go test suites of
 * github.com/standard-webhooks/standard-webhooks (commit b2fa7b8). */
static void the_published_vector(void **state)
{
	(void)state;
	char signature[SIGNATURE_SIZE];
	const char *made = sign("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw",
				"msg_p5jXN8AQM9LWM0D4loKWxJek", 1614265330,
				"{\"test\": 2432232314}", signature);

	assert_string_equal(made, "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=");
}

/* From memory: two examples in the documentation of senders that sign this
 * way.  They can hardly be remembered wrongly and come out right. */
static void two_more_vectors(void **state)
{
	(void)state;
	char signature[SIGNATURE_SIZE];

	assert_string_equal(sign("whsec_C2FVsBQIhrscChlQIMV+b5sSYspob7oD",
				 "msg_27UH4WbU6Z5A5EzD8u03UvzRbpk", 1649367553,
				 "{\"email\":\"test@example.com\",\"username\":\"test_user\"}",
				 signature),
			    "v1,tZ1I4/hDygAJgO5TYxiSd6Sd0kDW6hPenDe+bTa3Kkw=");
	assert_string_equal(sign("whsec_plJ3nmyCDGBKInavdOK15jsl", "msg_loFOjxBNrRLzqYUf", 1731705121,
				 "{\"event_type\":\"ping\",\"data\":{\"success\":true}}", signature),
			    "v1,rAvfW3dJ/X/qxhsaXPOyyCGmRKsaKWcsNccKXlIktD0=");
}

static void prefix_and_padding_are_optional(void **state)
{
	(void)state;
	char a[SIGNATURE_SIZE], b[SIGNATURE_SIZE], c[SIGNATURE_SIZE];

	assert_non_null(sign("whsec_QUJDREVGR0hJSktMTU5PUFFSU1RVVldYWVo=", "m", 1, "x", a));
	assert_non_null(sign("QUJDREVGR0hJSktMTU5PUFFSU1RVVldYWVo=", "m", 1, "x", b));
	assert_non_null(sign("QUJDREVGR0hJSktMTU5PUFFSU1RVVldYWVo", "m", 1, "x", c));
	assert_string_equal(a, b);
	assert_string_equal(a, c);
}

static void no_secret_is_an_error(void **state)
{
	(void)state;
	char signature[SIGNATURE_SIZE];

	assert_null(sign("", "m", 1, "x", signature));
	assert_null(sign("whsec_", "m", 1, "x", signature));
	assert_null(sign("whsec_****", "m", 1, "x", signature));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_published_vector),
		cmocka_unit_test(two_more_vectors),
		cmocka_unit_test(prefix_and_padding_are_optional),
		cmocka_unit_test(no_secret_is_an_error),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
