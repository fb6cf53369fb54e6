#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "anfract/base/result.h"

namespace anfract {

/// The whole file as bytes. Errors: NotFound, Io (also when it is larger than `limit_bytes`).
Result<std::string> read_file(const std::filesystem::path& path,
                              std::size_t limit_bytes = std::size_t{1} << 30);

/// Writes `bytes` so that `path` holds either what it held before or all of them: a temporary file
/// beside it is written, flushed to the disk and renamed. On failure the temporary file is removed.
/// Through a link the file it leads to is written, and into a device or pipe the bytes go as they
/// are. `mode` is that of a new file before the process's mask: 0600 for what only the user may
/// read.
Result<void> write_file_atomically(const std::filesystem::path& path, std::string_view bytes,
                                   unsigned mode = 0666);

}  // namespace anfract
