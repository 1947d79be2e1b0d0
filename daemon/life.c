/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reminders, acknowledgement, escalation; see life.h.
 */
#include "daemon/life.h"

#include <math.h>

static const struct {
	double first, most; /* s */
} intervals[PRIORITIES] = {
	[NOW] = { 1800, 4 * 3600 },
	[TODAY] = { 6 * 3600, 86400 },
	[UPKEEP] = { 86400, 7 * 86400 },
};

double life_interval(enum priority priority, unsigned reminded)
{
	return fmin(ldexp(intervals[priority].first, reminded < 16 ? (int)reminded : 16),
		    intervals[priority].most);
}

void life_begin(struct life *life, enum priority priority, double now)
{
	*life = (struct life){
		.from = now,
		.next = now + life_interval(priority, 0),
		.reach = life->reach,
	};
}

bool life_remind(struct life *life, enum priority priority, double now)
{
	if (life->acked) {
		if (now - life->acked_at < ACK_LASTS)
			return false;
		life->acked = false;
		life->next = now;
	}
	if (now < life->next)
		return false;
	life->reminded++;
	life->next = now + life_interval(priority, life->reminded);
	return true;
}

void life_ack(struct life *life, double now)
{
	life->acked = true;
	life->acked_at = now;
}

double webhook_delay(const struct conf *conf, size_t index)
{
	double delay = 0;

	while (index-- > 0 && conf->webhooks[index].escalate > 0)
		delay += conf->webhooks[index].escalate;
	return delay;
}

bool life_escalate(struct life *life, const struct conf *conf, enum priority priority,
		   double now, double *beyond)
{
	double reach = life->reach;

	if (priority != NOW || life->acked)
		return false;
	for (size_t i = 0; i < conf->webhook_count; i++) {
		double delay = webhook_delay(conf, i);

		if (delay > reach && now - life->from >= delay)
			reach = delay;
	}
	*beyond = life->reach;
	life->reach = reach;
	return reach > *beyond;
}

void life_shift(struct life *life, double by)
{
	life->from += by;
	life->next += by;
	life->acked_at += by;
}
