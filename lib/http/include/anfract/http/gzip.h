#pragma once

#include <string>
#include <string_view>

namespace anfract::http {

/// gzip form (RFC 1952) of the bytes. @param level 1 (fast) to 9 (small)
std::string gzip(std::string_view bytes, int level = 6);

/// True when an Accept-Encoding header allows gzip (RFC 9110, section 12.5.3).
bool accepts_gzip(std::string_view accept_encoding);

}  // namespace anfract::http
