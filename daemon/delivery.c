/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Posts through libcurl's multi interface; see delivery.h.
 *
 * CURLOPT_QUICK_EXIT keeps a name server that never answers from holding
 * the process beyond its time-out (libcurl 7.87 or newer).
 */
#include "daemon/delivery.h"

#include <curl/curl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "daemon/sign.h"

enum {
	CONNECT_SECONDS = 10,
	WHOLE_SECONDS = 30,
	MOST_HEADERS = 16 * 1024, /* bytes of an answer that are read */
	LAST_STATUS = 999,      /* three digits (RFC 9110, section 15) */
};

struct delivery {
	CURLM *multi;
	int begun;              /* posts whose result is not taken yet */
};

struct transfer {
	void *token;
	CURL *easy;
	size_t heard;           /* bytes of the answer's headers */
	struct curl_slist *headers;
	char *body;
};

struct delivery *delivery_new(void)
{
	if (curl_global_init(CURL_GLOBAL_DEFAULT) != CURLE_OK)
		return NULL;
	struct delivery *delivery = must_calloc(1, sizeof *delivery);

	delivery->multi = curl_multi_init();
	if (!delivery->multi) {
		free(delivery);
		return NULL;
	}
	return delivery;
}

void delivery_free(struct delivery *delivery)
{
	curl_multi_cleanup(delivery->multi);
	curl_global_cleanup();
	free(delivery);
}

static long status_of(CURL *easy)
{
	long status;

	curl_easy_getinfo(easy, CURLINFO_RESPONSE_CODE, &status);
	/* A 1xx is no answer yet; and libcurl takes any number for a status behind "HTTP/2". */
	return status >= 200 && status <= LAST_STATUS ? status : 0;
}

/* What follows the headers may be long or never end, and so may they: the
 * transfer ends as soon as enough is known.  Of a 2xx the status is all that
 * counts; another answer may say when to come again. */
static size_t take_header(char *bytes, size_t size, size_t count, void *context)
{
	struct transfer *transfer = context;
	long status = status_of(transfer->easy);
	bool last = bytes[0] == '\r' || bytes[0] == '\n';

	transfer->heard += size * count;
	if (transfer->heard > MOST_HEADERS || (status && (status < 300 || last)))
		return 0;
	return size * count;
}

static size_t take_body(char *bytes, size_t size, size_t count, void *context)
{
	(void)bytes;
	(void)size;
	(void)count;
	(void)context;
	return 0; /* none is wanted; reached by HTTP/0.9 only, which is no answer */
}

static void add_header(struct transfer *transfer, char *line)
{
	struct curl_slist *longer = curl_slist_append(transfer->headers, line);

	if (longer)
		transfer->headers = longer;
	free(line);
}

/* The keeper's own lines.  libcurl takes "Name:" for "leave that header out"
 * and wants a header without a value as "Name;". */
static void add_headers(struct transfer *transfer, const char *lines)
{
	while (lines && *lines) {
		int length = (int)strcspn(lines, "\r\n");
		const char *colon = memchr(lines, ':', (size_t)length);

		if (colon && colon > lines) {
			int name = (int)(colon - lines), blanks = (int)strspn(colon + 1, " \t");

			if (name + 1 + blanks == length)
				add_header(transfer, must_print("%.*s;", name, lines));
			else
				add_header(transfer, must_print("%.*s", length, lines));
		}
		lines += length;
		lines += strspn(lines, "\r\n");
	}
}

static struct transfer *transfer_new(const struct post *post, void *token)
{
	struct transfer *transfer = must_calloc(1, sizeof *transfer);
	char signature[SIGNATURE_SIZE];

	transfer->token = token;
	transfer->body = must_copy(post->body);
	add_header(transfer, must_print("Content-Type: %s", post->content_type));
	add_header(transfer, must_print("webhook-id: %s", post->id));
	add_header(transfer, must_print("webhook-timestamp: %lld", post->timestamp));
	if (post->secret && sign(post->secret, post->id, post->timestamp, post->body, signature))
		add_header(transfer, must_print("webhook-signature: %s", signature));
	add_headers(transfer, post->headers);
	add_header(transfer, must_copy("Expect:")); /* no waiting for a 100 */
	return transfer;
}

/* A private network may have an authority of its own. */
static void trust(CURL *easy)
{
	const char *file = getenv("SSL_CERT_FILE"), *folder = getenv("SSL_CERT_DIR");

	curl_easy_setopt(easy, CURLOPT_SSL_VERIFYPEER, 1L);
	curl_easy_setopt(easy, CURLOPT_SSL_VERIFYHOST, 2L);
	if (file && *file)
		curl_easy_setopt(easy, CURLOPT_CAINFO, file);
	if (folder && *folder)
		curl_easy_setopt(easy, CURLOPT_CAPATH, folder);
}

static void transfer_free(struct transfer *transfer)
{
	curl_slist_free_all(transfer->headers);
	free(transfer->body);
	free(transfer);
}

bool delivery_post(struct delivery *delivery, const struct post *post, void *token)
{
	CURL *easy = curl_easy_init();

	if (!easy)
		return false;
	struct transfer *transfer = transfer_new(post, token);

	transfer->easy = easy;
	trust(easy);
	curl_easy_setopt(easy, CURLOPT_URL, post->endpoint);
	curl_easy_setopt(easy, CURLOPT_PROTOCOLS_STR, "http,https");
	curl_easy_setopt(easy, CURLOPT_POSTFIELDSIZE_LARGE, (curl_off_t)strlen(transfer->body));
	curl_easy_setopt(easy, CURLOPT_POSTFIELDS, transfer->body);
	curl_easy_setopt(easy, CURLOPT_HTTPHEADER, transfer->headers);
	curl_easy_setopt(easy, CURLOPT_USERAGENT, PACKAGE_NAME "/" PACKAGE_VERSION);
	curl_easy_setopt(easy, CURLOPT_HEADERFUNCTION, take_header);
	curl_easy_setopt(easy, CURLOPT_HEADERDATA, transfer);
	curl_easy_setopt(easy, CURLOPT_WRITEFUNCTION, take_body);
	curl_easy_setopt(easy, CURLOPT_FOLLOWLOCATION, 0L);
	curl_easy_setopt(easy, CURLOPT_PRIVATE, transfer);
	curl_easy_setopt(easy, CURLOPT_PROXY, "");
	curl_easy_setopt(easy, CURLOPT_NOSIGNAL, 1L);
	curl_easy_setopt(easy, CURLOPT_QUICK_EXIT, 1L);
	curl_easy_setopt(easy, CURLOPT_FRESH_CONNECT, 1L);
	curl_easy_setopt(easy, CURLOPT_FORBID_REUSE, 1L);
	curl_easy_setopt(easy, CURLOPT_CONNECTTIMEOUT, (long)CONNECT_SECONDS);
	curl_easy_setopt(easy, CURLOPT_TIMEOUT, (long)WHOLE_SECONDS);
	if (curl_multi_add_handle(delivery->multi, easy) != CURLM_OK) {
		curl_easy_cleanup(easy);
		transfer_free(transfer);
		return false;
	}
	delivery->begun++;
	return true;
}

void delivery_wait(struct delivery *delivery, int fd, double seconds)
{
	struct curl_waitfd extra = { .fd = fd, .events = CURL_WAIT_POLLIN };
	int running;

	/* A post may end in here, and then no socket is left to wake the poll. */
	curl_multi_perform(delivery->multi, &running);
	if (running < delivery->begun)
		return;
	curl_multi_poll(delivery->multi, &extra, 1, (int)(seconds * 1000) + 1, NULL);
	curl_multi_perform(delivery->multi, &running);
}

/* An answer that a later try may well change: too early, too many, a busy or
 * broken server.  Everything else below 500 is final. */
static enum outcome outcome_of(long status)
{
	if (status >= 200 && status < 300)
		return DELIVERED_IT;
	if (status == 408 || status == 425 || status == 429 || status >= 500 || status == 0)
		return TRY_AGAIN;
	return REFUSED_IT;
}

/* A date in the past says "now". */
static double retry_after(CURL *easy)
{
	curl_off_t seconds = 0;

	curl_easy_getinfo(easy, CURLINFO_RETRY_AFTER, &seconds);
	if (seconds == 0)
		return 0;
	return seconds < 1 ? 1 : seconds > RETRY_AFTER_MOST ? RETRY_AFTER_MOST : (double)seconds;
}

/* What the keeper can do about an answer (RFC 9110, section 15). */
static const char *meaning_of(long status)
{
	if (status >= 300 && status < 400)
		return ", it sends posts on to another address: that one must be the endpoint";
	switch (status) {
	case 401:
	case 403:
		return ", it does not accept the key in its address or headers";
	case 404:
		return ", nothing is at this address: see whether the endpoint is right";
	case 400:
	case 413:
	case 415:
	case 422:
		return ", it does not take such a body: see which it wants";
	default:
		return "";
	}
}

/* Why there was no answer. */
static const char *reason_of(CURLcode code)
{
	switch (code) {
	case CURLE_PEER_FAILED_VERIFICATION:
		return "its certificate is of no trusted authority, or another host's";
	case CURLE_COULDNT_RESOLVE_HOST:
		return "its host's name is not found: see whether the address is right, and this "
		       "computer on the network";
	case CURLE_COULDNT_CONNECT:
		return "its host is not reached: see whether it runs, and this computer is on the "
		       "network";
	case CURLE_OPERATION_TIMEDOUT:
		return "it does not answer in time: see whether it runs, and this computer is on the "
		       "network";
	case CURLE_OK: /* it could be read, and is none */
	case CURLE_WEIRD_SERVER_REPLY:
	case CURLE_WRITE_ERROR:
		return "what answers there does not speak HTTP: see whether the endpoint is right";
	default:
		return curl_easy_strerror(code);
	}
}

bool delivery_take(struct delivery *delivery, struct delivered *out)
{
	CURLMsg *message;
	int left;

	do {
		message = curl_multi_info_read(delivery->multi, &left);
		if (!message)
			return false;
	} while (message->msg != CURLMSG_DONE);
	CURL *easy = message->easy_handle;
	char *private;

	curl_easy_getinfo(easy, CURLINFO_PRIVATE, &private);
	struct transfer *transfer = (void *)private;

	out->token = transfer->token;
	out->status = status_of(easy);
	out->outcome = outcome_of(out->status);
	out->retry_after = retry_after(easy);
	if (out->status)
		snprintf(out->why, sizeof out->why, "HTTP status %ld%s", out->status,
			 meaning_of(out->status));
	else
		snprintf(out->why, sizeof out->why, "%s", reason_of(message->data.result));
	delivery->begun--;
	curl_multi_remove_handle(delivery->multi, easy);
	curl_easy_cleanup(easy);
	transfer_free(transfer);
	return true;
}
