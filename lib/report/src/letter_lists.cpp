#include "letter_lists.h"

#include <algorithm>

#include "text.h"

namespace anfract {
namespace {

std::string place_of(const PlanWarning& warning) {
    std::string place = warning.canal.value_or("");
    if (warning.depth_mm)
        place += (place.empty() ? "at " : " at ") + fixed(*warning.depth_mm, 1) + " mm";
    return place;
}

}  // namespace

std::vector<std::string> finding_lines(const Tooth& tooth) {
    std::vector<std::string> lines;
    for (const Canal& canal : tooth.canals) {
        const std::string traced = "Canal " + canal.name + " runs into ";
        const bool told =
            std::any_of(tooth.findings.begin(), tooth.findings.end(),
                        [&](const std::string& line) { return line.starts_with(traced); });
        if (canal.joins && !told) {
            lines.push_back(canal.name + " joins " + canal.joins->canal + " at " +
                            fixed(canal.joins->depth_mm, 1) + " mm.");
        }
        if (canal.leaves) {
            lines.push_back(canal.name + " divides off " + canal.leaves->canal + " at " +
                            fixed(canal.leaves->depth_mm, 1) + " mm.");
        }
    }
    lines.insert(lines.end(), tooth.findings.begin(), tooth.findings.end());
    return lines;
}

std::vector<Caution> cautions_of(const Plan& plan) {
    std::vector<Caution> cautions;
    for (const PlanWarning& warning : plan.warnings) {
        const auto same =
            std::find_if(cautions.begin(), cautions.end(), [&](const Caution& caution) {
                return caution.text == warning.text && caution.severity == warning.severity;
            });
        const std::string place = place_of(warning);
        if (same == cautions.end()) {
            cautions.push_back({place, warning.text, warning.reason, warning.severity, 1});
            continue;
        }
        if (same->canals == 1 && !same->reason.empty() && same->reason != warning.reason)
            same->reason = same->places.substr(0, same->places.find(' ')) + ": " + same->reason;
        same->places += (same->places.empty() ? "" : ", ") + place;
        if (!warning.reason.empty() && same->reason != warning.reason)
            same->reason += " " + warning.canal.value_or("") + ": " + warning.reason;
        ++same->canals;
    }
    return cautions;
}

}  // namespace anfract
