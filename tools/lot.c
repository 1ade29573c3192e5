/* SPDX-License-Identifier: MIT
 *
 * The day is that of registering, by the laboratory's clock: specimens are measured when they are
 * tested.
 */
#include "lot.h"

#include "commands.h"
#include "day.h"
#include "now.h"
#include "register_write.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct gather {
	struct store *store;
	const struct registration *like;
	struct lot *lot;
	enum store_status status;
};

static int64_t measured_um(const struct specimen *specimen, const struct detail *detail)
{
	if (detail->width_count > 0)
		return detail_mean_um(detail->widths_um, detail->width_count);
	return detail->reduced ? 0 : detail_mean_um(specimen->width_um, 2);
}

static bool take(void *context, const char *id)
{
	struct gather *gather = context;
	const struct registration *like = gather->like;
	struct lot_member member;
	if (strcmp(id, like->specimen.id) == 0)
		return true;
	gather->status = store_detail_find(gather->store, id, &member.detail);
	if (gather->status == STORE_NONE || strcmp(member.detail.lot, like->detail.lot) != 0)
		return gather->status == STORE_OK || gather->status == STORE_NONE;
	if (gather->status == STORE_OK)
		gather->status = store_specimen_find(gather->store, id, &member.specimen);
	if (gather->status != STORE_OK)
		return false;
	if (strcmp(member.specimen.method, like->specimen.method) != 0)
		return true;
	gather->lot->too_many = gather->lot->count == LOT_MAX;
	if (gather->lot->too_many)
		return false;
	member.measured_um = measured_um(&member.specimen, &member.detail);
	gather->lot->members[gather->lot->count++] = member;
	return true;
}

bool lot_load(
	const char *database, const struct registration *like, struct lot *lot, struct message *why)
{
	struct gather gather = {.like = like, .lot = lot, .status = STORE_OK};
	*lot = (struct lot){.members = calloc(LOT_MAX, sizeof *lot->members)};
	if (!lot->members)
		return message_set(why, "out of memory");
	if (store_open(&gather.store, database, STORE_READ, why) != STORE_OK)
		return false;
	enum store_status status = store_registered_each(
		gather.store, (struct utc_time){day_begins_ns(now(), 0)}, take, &gather);
	status = gather.status == STORE_OK || gather.status == STORE_NONE ? status : gather.status;
	bool good = status == STORE_OK && !lot->too_many;
	if (lot->too_many)
		message_set(why, "lot %s has more than %d specimens today: give them other lots",
			like->detail.lot, LOT_MAX);
	else if (!good)
		message_set(why, "%s", store_error(gather.store));
	store_close(gather.store);
	return good;
}

void lot_finish(struct lot *lot)
{
	free(lot->members);
	*lot = (struct lot){.members = NULL};
}

bool lot_is_reduced(const struct lot *lot)
{
	for (size_t i = 0; i < lot->count; i++) {
		if (lot->members[i].detail.reduced)
			return true;
	}
	return false;
}

void lot_add_measured(const struct lot *lot, int64_t *widths_um, size_t *count)
{
	for (size_t i = 0; i < lot->count; i++) {
		if (lot->members[i].measured_um > 0)
			widths_um[(*count)++] = lot->members[i].measured_um;
	}
}

void lot_set_mean(struct registration *registration, int64_t mean_um)
{
	registration->has_shape = true;
	registration->detail.reduced = true;
	registration->specimen.shape = SHAPE_CYLINDER;
	registration->specimen.width_um[0] = registration->specimen.width_um[1] = mean_um;
}

int lot_use_mean(struct writing *writing, const struct lot *lot, int64_t mean_um)
{
	enum request_ask asked = writing->request.ask;
	int code = EXIT_DONE;
	for (size_t i = 0; i < lot->count && code == EXIT_DONE; i++) {
		const struct lot_member *member = &lot->members[i];
		struct registration registration = {
			.specimen = member->specimen, .detail = member->detail};
		struct detail *detail = &registration.detail;
		if (detail->reduced && member->specimen.width_um[0] == mean_um)
			continue;
		if (!detail->reduced && detail->width_count == 0) {
			memcpy(detail->widths_um, member->specimen.width_um,
				sizeof member->specimen.width_um);
			detail->width_count = 2;
		}
		lot_set_mean(&registration, mean_um);
		writing->request.ask = REQUEST_CORRECT_SPECIMEN;
		snprintf(writing->request.note, sizeof writing->request.note,
			"the mean of mould lot %s counts for all of it", detail->lot);
		code = register_write(writing, &registration);
	}
	writing->request.ask = asked;
	writing->request.note[0] = '\0';
	return code;
}
