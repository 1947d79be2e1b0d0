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

int life_grade(enum priority priority, bool beyond)
{
	return 2 * (int)priority + beyond;
}

static enum priority priority_of(int grade)
{
	return (enum priority)(grade / 2);
}

void life_begin(struct life *life, int grade, double now)
{
	*life = (struct life){
		.told = grade,
		.from = now,
		.next = now + life_interval(priority_of(grade), 0),
		.reach = life->reach,
	};
}

bool life_is_graver(struct life *life, int grade, double now)
{
	if (grade >= life->told) {
		life->eased = false;
		return grade > life->told;
	}
	if (!life->eased)
		life->eased_since = now;
	life->eased = true;
	if (life->acked || now - life->eased_since >= EASED_SECONDS) {
		life->told = grade;
		life->eased = false;
	}
	return false;
}

bool life_remind(struct life *life, double now)
{
	if (life->acked) {
		if (now - life->acked_at < ACK_LASTS)
			return false;
		/* It is as if it were told now: others are to be told later, too. */
		life->acked = false;
		life->from = life->next = now;
	}
	if (now < life->next)
		return false;
	life->reminded++;
	life->next = now + life_interval(priority_of(life->told), life->reminded);
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

bool life_escalate(struct life *life, const struct conf *conf, double now, double *beyond)
{
	double reach = life->reach;

	if (priority_of(life->told) != NOW || life->acked)
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
	life->eased_since += by;
}
