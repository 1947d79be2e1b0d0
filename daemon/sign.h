/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The signature of the Standard Webhooks specification 1.0.0
 * (github.com/standard-webhooks, spec/standard-webhooks.md): HMAC-SHA256 over
 * "id.timestamp.body", as "v1," and base64.  The one user of libcrypto.
 */
#ifndef WARMSIDE_DAEMON_SIGN_H
#define WARMSIDE_DAEMON_SIGN_H

enum { SIGNATURE_SIZE = 64 };

/* secret: base64, with or without "whsec_" in front; id without '.';
 * timestamp in s since the epoch.  Fills signature and returns it, or NULL
 * when the secret is no base64 or empty. */
char *sign(const char *secret, const char *id, long long timestamp, const char *body,
	   char signature[SIGNATURE_SIZE]);

#endif
