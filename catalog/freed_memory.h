// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace holdshelf {

/// The GNU C library keeps memory that was freed, in up to eight places a processor ("arenas"), one
/// of which each thread takes from. A server whose hundred threads take turns at large pieces of
/// work so comes to hold many times what one of them needs, for good. Both functions do nothing
/// where the C library is another.
///
/// Source: The GNU C Library Reference Manual, "Malloc Tunable Parameters"; mallopt(3),
/// malloc_trim(3).

/// As many arenas as processors from now on, two at least, and what is large (from 128 KiB on) goes
/// back to the system as soon as it is freed: left to itself, the library takes for small whatever
/// was once freed, up to 32 MiB, and keeps twice as much. Before the first thread is started.
void keepLittleFreedMemory();

/// Gives memory that was freed back to the system, from all arenas; takes a few milliseconds. To be
/// called after a large piece of work.
void returnFreedMemory();

}  // namespace holdshelf
