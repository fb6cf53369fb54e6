#include <algorithm>
#include <nlohmann/json.hpp>

#include "anfract/report/document.h"
#include "anfract/tooth/measures.h"
#include "text.h"

namespace anfract {
namespace {

using nlohmann::json;

// Limits beyond which something is worth a sentence to the patient (common practice, no source).
constexpr double certain = 0.9, curved_deg = 20, thin_wall_mm = 1.0, narrow_mm = 0.15;

bool is_curved(const Plan& plan) {
    const auto measures = measure(plan.tooth);
    return measures && std::any_of(measures->canals.begin(), measures->canals.end(),
                                   [](const CanalMeasures& canal) {
                                       return canal.space.total_curvature_deg > curved_deg;
                                   });
}

template <class Condition>
bool any_sample(const Plan& plan, const Condition& condition) {
    for (const Canal& canal : plan.tooth.canals) {
        if (std::any_of(canal.samples.begin(), canal.samples.end(), condition)) return true;
    }
    return false;
}

}  // namespace

Result<std::string> leaflet(const Plan& plan, const Letter& letter, const std::string& language,
                            LetterForm form) {
    const auto text = built_in_template("leaflet." + language);
    if (!text) {
        return fail(ErrorCode::BadInput, "there is no leaflet in this language", language,
                    "give en or de");
    }
    if (plan.canals.empty()) {
        return fail(ErrorCode::BadInput, "the plan has no canal to write about", "plan",
                    "make it from a tooth with at least one canal");
    }
    const bool german = language == "de";
    const auto [low, high] = std::minmax_element(
        plan.canals.begin(), plan.canals.end(), [](const CanalPlan& a, const CanalPlan& b) {
            return a.depth_to_foramen_mm < b.depth_to_foramen_mm;
        });
    const bool uncertain =
        !plan.tooth.possible.empty() ||
        std::any_of(plan.canals.begin(), plan.canals.end(),
                    [](const CanalPlan& canal) { return canal.presence.value_or(1) < certain; });
    // Of a hand-made tooth without walls a picture would show lines only.
    const bool drawable = plan.tooth.surface || any_sample(plan, [](const CanalSample& s) {
                              return s.wall_min_mm.has_value();
                          });
    const std::string shortest = fixed(low->depth_to_foramen_mm, 0),
                      longest = fixed(high->depth_to_foramen_mm, 0);
    json values = tooth_values(plan.tooth.fdi, language);
    values.update(
        {{"patient", letter.patient},
         {"call", letter.call},
         {"count", plan.canals.size()},
         {"many", plan.canals.size() > 1},
         {"shortest", shortest},
         {"longest", longest},
         {"range", shortest != longest},
         {"uncertain", uncertain},
         {"curved", is_curved(plan)},
         {"thin",
          any_sample(
              plan, [](const CanalSample& s) { return s.wall_min_mm.value_or(9) < thin_wall_mm; })},
         {"narrow",
          any_sample(plan, [](const CanalSample& s) { return s.diameter_mm < narrow_mm; })},
         {"picture",
          !drawable ? ""
          : german  ? "Ihr Zahn, der Länge nach gezeichnet, die Krone oben; Linien sind die Kanäle."
                    : "Your tooth drawn lengthwise, the crown at the top; lines are the canals."}});
    DocumentLook look;
    look.title =
        (german ? "Ihre Wurzelkanalbehandlung, Zahn " : "Your root canal treatment, tooth ") +
        plan.tooth.fdi;
    look.language = language;
    look.size_pt = 10.6;  // read by people of all ages
    look.invented = plan.invented;
    look.plan = &plan;
    return document_from(*text, values, letter, look, form);
}

}  // namespace anfract
