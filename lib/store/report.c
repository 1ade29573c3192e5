/* SPDX-License-Identifier: MIT
 *
 * Reports that were given out, each sealed like everything else. Their numbers have no holes, and
 * one is replaced by one other at most.
 */
#include "store/columns.h"
#include "store/seal.h"
#include "store/sql.h"

#include "base/text.h"

#include <assert.h>
#include <sodium.h>
#include <string.h>

_Static_assert((int)ISSUED_REASON_SIZE <= (int)STORE_REASON_SIZE, "a reason fits where others do");

static enum store_status check_number(struct store *store, const struct issued *issued)
{
	int64_t next = 0;
	enum store_status status = store_report_next(store, &next);

	if (status == STORE_OK && next != issued->number)
		return sql_error(store, STORE_REFUSED,
			"report %lld is not the next one, which is %lld: another was issued "
			"meanwhile; issue it again",
			(long long)issued->number, (long long)next);
	return status;
}

static enum store_status check_replaced(struct store *store, const struct issued *issued)
{
	struct issued_row replaced;

	if (issued->replaces == 0)
		return STORE_OK;
	enum store_status status = store_report_find(store, issued->replaces, &replaced);
	if (status == STORE_NONE)
		return sql_error(store, STORE_REFUSED, "there is no report %lld to be replaced",
			(long long)issued->replaces);
	if (status == STORE_OK && replaced.replaced_by)
		return sql_error(store, STORE_REFUSED,
			"report %lld was replaced by report %lld already: amend that one",
			(long long)issued->replaces, (long long)replaced.replaced_by);
	return status;
}

static enum store_status add_run(
	struct store *store, const struct issued *issued, size_t seq, int64_t run)
{
	struct seal seal = {.number = 0};
	struct sql sql;

	enum store_status status = seal_find(store, SEAL_RUN, run, &seal);
	if (status != STORE_OK && status != STORE_NONE)
		return status;
	sql_start(
		&sql, store, "INSERT INTO report_run (report, seq, run, seal) VALUES (?, ?, ?, ?)");
	sql_put_integer(&sql, issued->number);
	sql_put_integer(&sql, (int64_t)seq);
	sql_put_integer(&sql, run);
	sql_put_integer(&sql, status == STORE_OK ? seal.number : 0);
	return sql_finish(&sql);
}

enum store_status store_report_add(struct store *store, const struct issued *issued,
	const struct actor *actor, struct utc_time now)
{
	struct sql sql;

	assert(store->transaction && issued->run_count <= ISSUED_RUNS_MAX);
	enum store_status status = check_number(store, issued);
	if (status == STORE_OK)
		status = check_replaced(store, issued);
	if (status != STORE_OK)
		return status;
	columns_start_insert(
		&sql, store, "report", "report, at_utc_ns, by_uid, by_name", columns_issued);
	sql_put_integer(&sql, issued->number);
	sql_put_actor(&sql, actor, now);
	columns_put(&sql, columns_issued, issued);
	status = sql_finish(&sql);
	for (size_t i = 0; i < issued->run_count && status == STORE_OK; i++)
		status = add_run(store, issued, i, issued->runs[i]);
	return status == STORE_OK ? seal_add(store, SEAL_REPORT, issued->number) : status;
}

enum store_status store_report_next(struct store *store, int64_t *number)
{
	return sql_integer(store, "SELECT ifnull(max(report), 0) + 1 FROM report", number);
}

/* ---- reading */

static const char rest[] =
	", report, at_utc_ns, by_uid, by_name, (SELECT ifnull(max(later.report), 0)"
	" FROM report AS later WHERE later.replaces = report.report) FROM report";

static void take_row(struct sql *sql, struct issued_row *row)
{
	columns_take(sql, columns_issued, &row->issued);
	row->issued.number = sql_take_integer(sql);
	row->recorded.at.ns = sql_take_integer(sql);
	row->recorded.by.uid = (uint32_t)sql_take_integer(sql);
	sql_take_text(sql, row->recorded.by.name, sizeof(row->recorded.by.name));
	row->replaced_by = sql_take_integer(sql);
	if (row->issued.run_count > ISSUED_RUNS_MAX)
		sql_damaged(sql, "a report on more runs than there may be");
}

static enum store_status load_runs(struct store *store, struct issued *issued)
{
	size_t count = 0;
	struct sql sql;

	sql_start(&sql, store, "SELECT run FROM report_run WHERE report = ? ORDER BY seq");
	sql_put_integer(&sql, issued->number);
	while (count < issued->run_count && sql_next(&sql))
		issued->runs[count++] = sql_take_integer(&sql);
	if (sql.status == STORE_OK && count < issued->run_count)
		sql_damaged(&sql, "a report with fewer runs than it had");
	return sql_finish(&sql);
}

/* A row, if there is one. */
static enum store_status finish_row(struct store *store, struct sql *sql, struct issued_row *row)
{
	bool found = sql_next(sql);
	if (found)
		take_row(sql, row);
	enum store_status status = sql_finish_one(sql, found);
	return status == STORE_OK ? load_runs(store, &row->issued) : status;
}

static void start_select(struct sql *sql, struct store *store, const char *where)
{
	char buffer[SQL_TEXT_SIZE];
	struct text text;

	text_init(&text, buffer, sizeof(buffer));
	text_format(&text, "%s %s", rest, where);
	assert(!text.overflow);
	columns_start_select(sql, store, columns_issued, buffer);
}

enum store_status store_report_find(struct store *store, int64_t number, struct issued_row *row)
{
	struct sql sql;

	start_select(&sql, store, "WHERE report = ?");
	sql_put_integer(&sql, number);
	return finish_row(store, &sql, row);
}

enum store_status store_report_of(
	struct store *store, bool is_set, const char *subject, struct issued_row *row)
{
	struct sql sql;

	start_select(&sql, store, "WHERE subject = ? AND is_set = ? ORDER BY report DESC LIMIT 1");
	sql_put_text(&sql, subject);
	sql_put_integer(&sql, is_set);
	return finish_row(store, &sql, row);
}

enum store_status store_report_with(struct store *store, const char *hash, struct issued_row *row)
{
	struct sql sql;

	start_select(&sql, store, "WHERE hash = ? ORDER BY report DESC LIMIT 1");
	sql_put_text(&sql, hash);
	return finish_row(store, &sql, row);
}

enum store_status store_reports_each(struct store *store, store_report_take *take, void *context)
{
	struct issued_row row = {.replaced_by = 0};
	bool more = true;
	struct sql sql;

	start_select(&sql, store, "ORDER BY report");
	while (more && sql_next(&sql)) {
		take_row(&sql, &row);
		more = sql.status == STORE_OK && take(context, &row);
	}
	return sql_finish(&sql);
}

void store_file_hash(const void *bytes, size_t count, char hash[ISSUED_HASH_SIZE])
{
	unsigned char raw[STORE_SEAL_SIZE];

	crypto_generichash(raw, sizeof(raw), bytes, count, NULL, 0);
	sodium_bin2hex(hash, ISSUED_HASH_SIZE, raw, sizeof(raw));
}
