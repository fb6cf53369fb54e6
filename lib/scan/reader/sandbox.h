#pragma once

#include <string>

#include "reader_channel.h"

namespace anfract {

/// Gives up, for this process and for good, what reading a scan does not need.
///
/// System calls are limited to a list (seccomp): no sockets, no other programs, no files opened for
/// writing, no executable memory; a call that is not on it ends the process (SIGSYS). Memory,
/// processor time, file sizes and open files are limited, core dumps are off, and when the memory
/// of the machine runs out this process is the first to go. Call it before any second thread.
///
/// @return empty, or which step failed
std::string enter_sandbox(const ReaderLimits& limits);

}  // namespace anfract
