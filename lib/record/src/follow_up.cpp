#include "anfract/record/follow_up.h"

#include <array>
#include <chrono>
#include <cstdio>

#include "anfract/record/instant.h"

namespace anfract::record {
namespace {

using std::chrono::sys_days;

Result<sys_days> day_of(const std::string& date) {
    const auto instant = parse_instant(date + "T00:00:00Z");
    if (!instant) return fail(ErrorCode::BadInput, "is no date", date, "write it as 2026-01-31");
    return std::chrono::floor<std::chrono::days>(*instant);
}

}  // namespace

std::string outcome_by_ese(const Recall& recall) {
    const bool lesion_left = recall.lesion == "same" || recall.lesion == "smaller";
    if (recall.symptoms.value_or(false) || recall.resorption.value_or(false) ||
        recall.lesion == "new" || recall.lesion == "larger" || (lesion_left && recall.years >= 4))
        return "unfavourable";
    if (lesion_left) return "uncertain";
    if (!recall.symptoms || !recall.ligament_normal || recall.lesion.empty()) return "not known";
    // Without a lesion but with a widened ligament it is neither healed nor diseased.
    return *recall.ligament_normal ? "favourable" : "uncertain";
}

std::string periapical_index_text(int score) {
    constexpr std::array texts{"normal periapical structures", "small changes in bone structure",
                               "changes in bone structure with some mineral loss",
                               "periodontitis with a well-defined radiolucent area",
                               "severe periodontitis with exacerbating features"};
    return texts.at(static_cast<std::size_t>(score - 1));
}

Result<double> years_between(const std::string& from, const std::string& to) {
    const Result<sys_days> first = day_of(from), last = day_of(to);
    if (!first) return tl::unexpected(first.error());
    if (!last) return tl::unexpected(last.error());
    // The anniversary itself counts as a whole year, also across leap days.
    const std::chrono::year_month_day a(*first), b(*last);
    const double part = (static_cast<int>(static_cast<unsigned>(b.month())) -
                         static_cast<int>(static_cast<unsigned>(a.month()))) /
                            12.0 +
                        (static_cast<int>(static_cast<unsigned>(b.day())) -
                         static_cast<int>(static_cast<unsigned>(a.day()))) /
                            372.0;
    return static_cast<int>(b.year()) - static_cast<int>(a.year()) + part;
}

Result<std::vector<std::string>> recall_dates(const std::string& completed) {
    const Result<sys_days> day = day_of(completed);
    if (!day) return tl::unexpected(day.error());
    std::vector<std::string> dates;
    for (int years = 1; years <= 4; ++years) {
        std::chrono::year_month_day date(*day);
        date += std::chrono::years(years);
        if (!date.ok()) date = date.year() / date.month() / std::chrono::last;  // 29 February
        std::array<char, 40> text{};
        std::snprintf(text.data(), text.size(), "%04d-%02u-%02u", static_cast<int>(date.year()),
                      static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
        dates.emplace_back(text.data());
    }
    return dates;
}

}  // namespace anfract::record
