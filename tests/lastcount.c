/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Keeps the counts of a child that ends by _exit, as archivist and courier do: gcov writes
 * them at a proper end only.  Linked into all of contrib/coverage.sh's build, with
 * -Wl,--wrap=_exit, and into no other.
 */
#include <gcov.h>

_Noreturn void __real__exit(int status);
_Noreturn void __wrap__exit(int status);

_Noreturn void __wrap__exit(int status)
{
	__gcov_dump();
	__real__exit(status);
}
