/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside.conf and what it includes -> struct conf, or the whole list of
 * its faults.  The one user of libConfuse.
 */
#ifndef WARMSIDE_CONF_LOAD_H
#define WARMSIDE_CONF_LOAD_H

#include "conf/fault.h"
#include "conf/model.h"

/* Reads the file at path.  Returns a model the caller frees with conf_free,
 * or NULL when there is any fault; every fault of this run is then in
 * *faults.  Never prints.  Secrets named by "@file" are read here. */
struct conf *conf_load(const char *path, struct faults *faults);

/* The same without the webhooks and the heartbeat, for whoever reports and may
 * not read their secrets: conf.webhooks is empty, conf.heartbeat has no
 * endpoint, and faults in them are not looked for. */
struct conf *conf_load_without_webhooks(const char *path, struct faults *faults);

/* The names of the webhooks in the file, *count of them, in its order: no secret
 * is read, and no fault told.  malloc'ed strings in a malloc'ed array. */
char **conf_webhook_names(const char *path, size_t *count);

/* Frees the whole model; NULL is fine. */
void conf_free(struct conf *conf);

#endif
