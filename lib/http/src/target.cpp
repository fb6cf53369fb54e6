#include "anfract/http/target.h"

#include <algorithm>

namespace anfract::http {
namespace {

int hex_value(char c) {
    if (c >= '0' && c <= '9') return c - '0';
    if (c >= 'a' && c <= 'f') return c - 'a' + 10;
    if (c >= 'A' && c <= 'F') return c - 'A' + 10;
    return -1;
}

bool is_control(char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; }

/// Cuts `text` at each `separator` and hands the pieces on until one is refused.
template <class Use>
bool each_piece(std::string_view text, char separator, Use use) {
    while (true) {
        const std::size_t cut = text.find(separator);
        if (!use(text.substr(0, cut))) return false;
        if (cut == std::string_view::npos) return true;
        text.remove_prefix(cut + 1);
    }
}

bool honest_segment(const std::string& segment) {
    return segment != "." && segment != ".." && segment.find_first_of("/\\") == std::string::npos;
}

}  // namespace

std::optional<std::string> percent_decode(std::string_view text, bool plus_is_space) {
    std::string decoded;
    decoded.reserve(text.size());
    for (std::size_t i = 0; i < text.size(); ++i) {
        char c = text[i];
        if (c == '%') {
            if (i + 2 >= text.size()) return std::nullopt;
            const int high = hex_value(text[i + 1]), low = hex_value(text[i + 2]);
            if (high < 0 || low < 0) return std::nullopt;
            c = static_cast<char>(high * 16 + low);
            i += 2;
        } else if (c == '+' && plus_is_space) {
            c = ' ';
        }
        if (is_control(c)) return std::nullopt;
        decoded.push_back(c);
    }
    return decoded;
}

std::optional<Target> parse_target(std::string_view target) {
    if (target.empty() || target.front() != '/') return std::nullopt;
    const std::size_t question = target.find('?');
    std::string_view path =
        target.substr(1, question == std::string_view::npos ? question : question - 1);
    Target parsed;
    const bool path_is_good = each_piece(path, '/', [&](std::string_view raw) {
        if (raw.empty()) return true;  // "//" and a trailing "/" count as one
        std::optional<std::string> segment = percent_decode(raw, false);
        if (!segment || !honest_segment(*segment)) return false;
        parsed.segments.push_back(std::move(*segment));
        return true;
    });
    if (!path_is_good) return std::nullopt;
    if (question == std::string_view::npos) return parsed;
    const bool query_is_good =
        each_piece(target.substr(question + 1), '&', [&](std::string_view pair) {
            if (pair.empty()) return true;
            const std::size_t equals = pair.find('=');
            auto name = percent_decode(pair.substr(0, equals), true);
            auto value = equals == std::string_view::npos
                             ? std::optional<std::string>("")
                             : percent_decode(pair.substr(equals + 1), true);
            if (!name || !value) return false;
            parsed.query.emplace(std::move(*name), std::move(*value));
            return true;
        });
    return query_is_good ? std::optional<Target>(std::move(parsed)) : std::nullopt;
}

std::string Target::path() const {
    std::string text;
    for (const std::string& segment : segments) text.append("/").append(segment);
    return text.empty() ? "/" : text;
}

}  // namespace anfract::http
