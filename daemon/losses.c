/* SPDX-License-Identifier: MIT */
#include "losses.h"

static bool lost(const struct losses *losses, size_t press)
{
	return losses->presses[press].press[0];
}

void losses_add(struct losses *losses, size_t press, const struct loss *more)
{
	struct loss *loss = &losses->presses[press];
	struct loss sum = *more;

	if (lost(losses, press)) {
		sum.from = loss->from.ns < more->from.ns ? loss->from : more->from;
		sum.to = loss->to.ns > more->to.ns ? loss->to : more->to;
		sum.reading_count += loss->reading_count;
		sum.loading_count += loss->loading_count;
	}
	*loss = sum;
}

bool losses_any(const struct losses *losses)
{
	bool any = false;

	for (size_t i = 0; i < CONFIG_PRESSES_MAX; i++)
		any = any || lost(losses, i);
	return any;
}

bool losses_take(struct losses *losses, struct losses *taken)
{
	*taken = *losses;
	*losses = (struct losses){0};
	return losses_any(taken);
}

void losses_put_back(struct losses *losses, const struct losses *taken)
{
	for (size_t i = 0; i < CONFIG_PRESSES_MAX; i++) {
		if (lost(taken, i))
			losses_add(losses, i, &taken->presses[i]);
	}
}

enum store_status losses_store(const struct losses *losses, struct store *store)
{
	enum store_status status = store_begin(store);

	for (size_t i = 0; i < CONFIG_PRESSES_MAX && status == STORE_OK; i++) {
		if (lost(losses, i))
			status = store_loss_add(store, &losses->presses[i]);
	}
	if (status == STORE_OK)
		status = store_commit(store);
	return status;
}
