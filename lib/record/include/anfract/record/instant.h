#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

namespace anfract::record {

using Instant = std::chrono::sys_time<std::chrono::milliseconds>;

/// "2026-01-31T12:00:00.250+01:00" (ISO 8601; the fraction may be missing, the offset may be Z) as
/// a moment; nothing when it is no such text or no such date.
std::optional<Instant> parse_instant(std::string_view text);

/// "2026-01-31T11:00:00.250Z"
std::string to_text(Instant instant);

/// Now, in that form.
std::string now_text();

}  // namespace anfract::record
