/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A scene that is watched: the same room, but with a state folder of its own,
 * a real alert log and a real outbox that nobody empties.  Webhooks are the
 * scene's further configuration.
 */
#ifndef WARMSIDE_TESTS_STAGE_H
#define WARMSIDE_TESTS_STAGE_H

#include "tests/scene.h"

struct stage {
	struct scene scene;
	struct watch watch;
	char folder[40];
};

/* As scene_begin and scene_end; the folder goes at the end. */
void stage_begin(struct stage *stage, size_t enclosures, const char *more, const char *inside);
void stage_end(struct stage *stage);

/* The daemon ends orderly and begins again so many s later, by its clock. */
void stage_restart(struct stage *stage, double pause);

/* The same after a sudden end. */
void stage_kill(struct stage *stage, double pause);

/* A second of the daemon's without a reading, at scene.now. */
void stage_tick(struct stage *stage);

/* The titles of all messages for a webhook, oldest first, must be these lines,
 * each ended by a newline. */
void stage_expect(struct stage *stage, const char *webhook, const char *titles);

/* All bodies for a webhook, one after the other; malloc'ed. */
char *stage_bodies(struct stage *stage, const char *webhook);

/* How often these words stand in the alert log. */
size_t stage_logged(const struct stage *stage, const char *words);

#endif
