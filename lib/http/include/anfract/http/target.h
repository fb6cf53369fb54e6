#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace anfract::http {

/// A request target taken apart.
struct Target {
    std::vector<std::string> segments;              ///< decoded; "/a/b" gives {"a", "b"}, "/" none
    std::multimap<std::string, std::string> query;  ///< decoded, "+" is a space

    std::string path() const;  ///< "/" and the segments
};

/// Takes apart the origin form of a target (RFC 9112, section 3.2.1). Nothing is returned for what
/// no honest client sends: a bad percent escape, a control character, a segment that is "." or ".."
/// or holds a slash or backslash once decoded.
std::optional<Target> parse_target(std::string_view target);

/// Percent decoding (RFC 3986, section 2.1).
std::optional<std::string> percent_decode(std::string_view text, bool plus_is_space);

}  // namespace anfract::http
