#include "nesting_guard.h"

#include <cstdint>
#include <cstring>
#include <vector>

namespace anfract {
namespace {

constexpr std::size_t deepest = 64;
constexpr std::uint32_t undefined_length = 0xFFFFFFFF;

std::uint32_t length_at(const char* p, bool big_endian) {
    std::uint32_t value = 0;
    for (int b = 0; b < 4; ++b) {
        const auto byte = static_cast<unsigned char>(p[big_endian ? b : 3 - b]);
        value = value << 8 | byte;
    }
    return value;
}

}  // namespace

bool nested_too_deeply(std::string_view bytes) {
    // Ends of the items that are open; SIZE_MAX for one that ends with a delimiter.
    std::vector<std::size_t> open;
    const char* const begin = bytes.data();
    const char* const end = begin + bytes.size();
    // Item tags are (FFFE,E000) and (FFFE,E00D): FE FF 00 E0 and FE FF 0D E0, or FF FE E0 00 and FF
    // FE E0 0D.
    for (const char* p = begin; p < end;) {
        p = static_cast<const char*>(std::memchr(p, 0xFE, std::size_t(end - p)));
        if (p == nullptr) break;
        const bool little = end - p >= 8 && p[1] == '\xFF' && p[3] == '\xE0';
        const bool big = p > begin && end - p >= 7 && p[-1] == '\xFF' && p[1] == '\xE0';
        if (!little && !big) {
            ++p;
            continue;
        }
        const char kind = p[2];
        const std::size_t at = std::size_t(p - begin);
        while (!open.empty() && open.back() <= at) open.pop_back();
        if (kind == '\x0D') {
            if (!open.empty()) open.pop_back();
        } else if (kind == '\x00') {
            const std::uint32_t length = length_at(p + (little ? 4 : 3), big);
            open.push_back(length == undefined_length ? SIZE_MAX : at + 8 + length);
            if (open.size() > deepest) return true;
        }
        ++p;
    }
    return false;
}

}  // namespace anfract
