/* SPDX-License-Identifier: MIT
 *
 * The audit interrupted at the worst moment, in a command of the tests' own: the last page has been
 * checked, and no run has been looked at.
 */
#include "store/audit.h"

#include <signal.h>

enum store_status __real_audit_pages(
	struct store *store, const struct audit_hooks *hooks, struct audit_summary *summary);
enum store_status __wrap_audit_pages(
	struct store *store, const struct audit_hooks *hooks, struct audit_summary *summary);

enum store_status __wrap_audit_pages(
	struct store *store, const struct audit_hooks *hooks, struct audit_summary *summary)
{
	enum store_status status = __real_audit_pages(store, hooks, summary);

	raise(SIGINT);
	return status;
}
