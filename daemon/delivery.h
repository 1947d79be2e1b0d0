/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Posting without waiting for one another: the one user of libcurl, in the
 * courier process only.
 */
#ifndef WARMSIDE_DAEMON_DELIVERY_H
#define WARMSIDE_DAEMON_DELIVERY_H

#include <stdbool.h>

struct delivery;

/* What became of a post, as what to do now. */
enum outcome {
	DELIVERED_IT,   /* a 2xx */
	TRY_AGAIN,      /* no answer, or one that may be otherwise later */
	REFUSED_IT      /* an answer that will stay the same */
};

enum { DELIVERY_WHY = 128 };    /* bytes of a sentence */

enum { RETRY_AFTER_MOST = 3600 }; /* s: an animal may be waiting */

struct post {
	const char *endpoint;   /* http or https URL */
	const char *secret;     /* NULL: unsigned */
	const char *id;         /* webhook-id */
	const char *content_type;
	const char *headers;    /* more of them, "Name: value\n" each; NULL: none */
	const char *body;
	long long timestamp;    /* of this try, s since the epoch */
};

struct delivered {
	void *token;            /* as given to delivery_post */
	enum outcome outcome;
	long status;            /* HTTP status, 0 when there was no answer */
	double retry_after;     /* s it asks to be left alone, 1..RETRY_AFTER_MOST; 0: it
				 * does not say (RFC 9110, section 10.2.3) */
	char why[DELIVERY_WHY]; /* for the log: never holds the URL's path */
};

/* NULL when libcurl cannot be set up.  The certificates of servers are checked
 * against the system's list, or those that the environment variables
 * SSL_CERT_FILE and SSL_CERT_DIR name, as with OpenSSL's own programs. */
struct delivery *delivery_new(void);
void delivery_free(struct delivery *delivery);

/* Begins a post; everything is copied.  The result comes with the token, after
 * 30 s at the latest.  Redirects are not followed. */
bool delivery_post(struct delivery *delivery, const struct post *post, void *token);

/* Lets libcurl work until a result is there, something happens on its sockets
 * or on fd, or for so many s. */
void delivery_wait(struct delivery *delivery, int fd, double seconds);

/* Takes one result; false when there is none now. */
bool delivery_take(struct delivery *delivery, struct delivered *out);

#endif
