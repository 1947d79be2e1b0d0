/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Does nothing but have the daemon's libraries loaded, until its standard
 * input ends: what memory they take by themselves (bench-live.sh).  One
 * symbol of each is named, so that no linker leaves one out.
 */
#include <confuse.h>
#include <curl/curl.h>
#include <ev.h>
#include <jansson.h>
#include <libserialport.h>
#include <math.h>
#include <openssl/crypto.h>
#include <rrd.h>
#include <stdio.h>
#include <unistd.h>

int main(void)
{
	char byte;

	printf("librrd %s, libcurl %s, libserialport %s, libcrypto %lx, libev %d, %p %p %g\n",
	       rrd_strversion(), curl_version(), sp_get_lib_version_string(),
	       OpenSSL_version_num(), ev_version_major(), (void *)cfg_opt_size, (void *)json_null(),
	       floor(1.5));
	fflush(stdout);
	return read(STDIN_FILENO, &byte, 1) < 0;
}
