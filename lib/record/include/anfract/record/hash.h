#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "anfract/base/result.h"

namespace anfract::record {

/// SHA-256 (FIPS 180-4) as 64 lower-case hexadecimal digits.
std::string sha256_hex(std::string_view bytes);

/// The same of a file, read in pieces. Errors: NotFound, Io.
Result<std::string> sha256_of_file(const std::filesystem::path& path);

/// True for what sha256_hex makes. Nothing else from outside may become part of a path.
bool is_sha256(std::string_view text);

/// `bytes` random bytes of the system as hexadecimal digits, two for each.
std::string random_hex(std::size_t bytes);

}  // namespace anfract::record
