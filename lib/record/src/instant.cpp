#include "anfract/record/instant.h"

#include <array>
#include <cstdio>

namespace anfract::record {
namespace {

/// Reads exactly `digits` digits at the front and removes them.
std::optional<int> take_number(std::string_view& text, std::size_t digits) {
    if (text.size() < digits) return std::nullopt;
    int value = 0;
    for (std::size_t i = 0; i < digits; ++i) {
        if (text[i] < '0' || text[i] > '9') return std::nullopt;
        value = 10 * value + (text[i] - '0');
    }
    text.remove_prefix(digits);
    return value;
}

bool take(std::string_view& text, char wanted) {
    if (text.empty() || text.front() != wanted) return false;
    text.remove_prefix(1);
    return true;
}

/// Milliseconds of ".25"; digits beyond the third are dropped.
std::optional<int> take_fraction(std::string_view& text) {
    if (!take(text, '.')) return 0;
    int milliseconds = 0, digits = 0;
    for (; !text.empty() && text.front() >= '0' && text.front() <= '9'; text.remove_prefix(1)) {
        if (++digits <= 3) milliseconds = 10 * milliseconds + (text.front() - '0');
    }
    if (digits == 0 || digits > 9) return std::nullopt;
    for (; digits < 3; ++digits) milliseconds *= 10;
    return milliseconds;
}

std::optional<std::chrono::minutes> take_offset(std::string_view& text) {
    if (take(text, 'Z')) return std::chrono::minutes(0);
    const bool east = !text.empty() && text.front() == '+';
    if (!east && (text.empty() || text.front() != '-')) return std::nullopt;
    text.remove_prefix(1);
    const auto hours = take_number(text, 2);
    if (!hours || !take(text, ':')) return std::nullopt;
    const auto minutes = take_number(text, 2);
    if (!minutes || *hours > 14 || *minutes > 59) return std::nullopt;
    const std::chrono::minutes offset(60 * *hours + *minutes);
    return east ? offset : -offset;
}

}  // namespace

std::optional<Instant> parse_instant(std::string_view text) {
    using namespace std::chrono;
    const auto y = take_number(text, 4);
    if (!y || !take(text, '-')) return std::nullopt;
    const auto m = take_number(text, 2);
    if (!m || !take(text, '-')) return std::nullopt;
    const auto d = take_number(text, 2);
    if (!d || !take(text, 'T')) return std::nullopt;
    const auto hour = take_number(text, 2);
    if (!hour || !take(text, ':')) return std::nullopt;
    const auto minute = take_number(text, 2);
    if (!minute || !take(text, ':')) return std::nullopt;
    const auto second = take_number(text, 2);
    if (!second) return std::nullopt;
    const auto fraction = take_fraction(text);
    if (!fraction) return std::nullopt;
    const auto offset = take_offset(text);
    if (!offset || !text.empty()) return std::nullopt;
    const year_month_day date{year(*y), month(static_cast<unsigned>(*m)),
                              day(static_cast<unsigned>(*d))};
    if (!date.ok() || *hour > 23 || *minute > 59 || *second > 59) return std::nullopt;
    return sys_days(date) + hours(*hour) + minutes(*minute) + seconds(*second) +
           milliseconds(*fraction) - *offset;
}

std::string to_text(Instant instant) {
    using namespace std::chrono;
    const sys_days day = floor<days>(instant);
    const year_month_day date(day);
    const hh_mm_ss time(instant - day);
    std::array<char, 40> text{};
    std::snprintf(text.data(), text.size(), "%04d-%02u-%02uT%02d:%02d:%02d.%03dZ",
                  static_cast<int>(date.year()), static_cast<unsigned>(date.month()),
                  static_cast<unsigned>(date.day()), static_cast<int>(time.hours().count()),
                  static_cast<int>(time.minutes().count()),
                  static_cast<int>(time.seconds().count()),
                  static_cast<int>(time.subseconds().count()));
    return text.data();
}

std::string now_text() {
    return to_text(std::chrono::floor<std::chrono::milliseconds>(std::chrono::system_clock::now()));
}

}  // namespace anfract::record
