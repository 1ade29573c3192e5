/* SPDX-License-Identifier: MIT
 *
 * A commit whose sync failed is undone in the process that made it, but it stands in the log. Where
 * the log could not be cleared away afterwards (the disk still refuses; the process was killed),
 * whoever opens the database next finds it there and takes it for whole. That is right; but it must
 * not be written once more: the tables say whether it is there.
 */
#include "store/doubt.h"

#include <string.h>

static enum store_status read_mark(struct store *store, struct store_mark *mark)
{
	struct sql sql;

	sql_start(&sql, store,
		"SELECT ifnull((SELECT max(run) FROM run), 0),"
		" ifnull((SELECT max(number) FROM chunk), 0),"
		" ifnull((SELECT max(seal) FROM seal), 0)");
	bool found = sql_next(&sql);
	mark->run = sql_take_integer(&sql);
	mark->chunk = sql_take_integer(&sql);
	mark->seal = sql_take_integer(&sql);
	return sql_finish_one(&sql, found);
}

enum store_status doubt_begin(struct store *store)
{
	return read_mark(store, &store->mark);
}

enum store_status doubt_settle(struct store *store)
{
	struct store_mark mark;

	store->came_through = false;
	if (!store->in_doubt)
		return STORE_OK;
	enum store_status status = read_mark(store, &mark);
	store->came_through = status == STORE_OK && mark.run == store->mark.run &&
			      mark.chunk == store->mark.chunk && mark.seal == store->mark.seal;
	return status;
}

bool store_came_through(const struct store *store)
{
	return store->came_through;
}
