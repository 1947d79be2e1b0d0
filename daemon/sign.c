/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Signing posts; see sign.h.
 */
#include "daemon/sign.h"

#include <openssl/evp.h>
#include <openssl/hmac.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"

enum { KEY_CEILING = 128, DIGEST_SIZE = 32 };

/* Decodes base64, padded or not, into key; returns its length, 0 for none. */
static size_t decode_key(const char *secret, unsigned char key[KEY_CEILING])
{
	static const char prefix[] = "whsec_";
	char padded[KEY_CEILING / 3 * 4 + 5];
	size_t length;
	int decoded;

	if (strncmp(secret, prefix, sizeof prefix - 1) == 0)
		secret += sizeof prefix - 1;
	length = strcspn(secret, "=");
	if (length == 0 || length % 4 == 1 || length > (size_t)KEY_CEILING / 3 * 4)
		return 0;
	memcpy(padded, secret, length);
	size_t whole = (length + 3) / 4 * 4;

	memset(padded + length, '=', whole - length);
	decoded = EVP_DecodeBlock(key, (const unsigned char *)padded, (int)whole);
	return decoded < 0 ? 0 : (size_t)decoded - (whole - length);
}

char *sign(const char *secret, const char *id, long long timestamp, const char *body,
	   char signature[SIGNATURE_SIZE])
{
	unsigned char key[KEY_CEILING + 3], digest[DIGEST_SIZE];
	unsigned digest_size = sizeof digest;
	size_t key_size = decode_key(secret, key);

	if (key_size == 0)
		return NULL;
	char *content = must_print("%s.%lld.%s", id, timestamp, body);
	const unsigned char *made = HMAC(EVP_sha256(), key, (int)key_size,
					 (const unsigned char *)content, strlen(content), digest,
					 &digest_size);

	free(content);
	if (!made)
		return NULL;
	memcpy(signature, "v1,", sizeof "v1,");
	EVP_EncodeBlock((unsigned char *)signature + 3, digest, (int)digest_size);
	return signature;
}
