#include "anfract/server/case_findings.h"

#include <nlohmann/json.hpp>

#include "anfract/record/diagnosis.h"
#include "anfract/record/follow_up.h"
#include "anfract/tooth/measures.h"

namespace anfract::server {
using nlohmann::json;
using record::CanalAnatomy;

namespace {

std::optional<double> apical_width_mm(const CanalMeasures& canal) {
    for (const WidthAt& width : canal.widths) {
        if (width.place == "1 mm") return width.diameter_mm;
    }
    return std::nullopt;
}

json codes_of(const json& notes) {
    const json diagnosis = notes.value("diagnosis", json::object());
    json codes = json::array();
    for (const record::DiagnosisCode& code :
         record::icd10_of(diagnosis.value("pulpal", ""), diagnosis.value("apical", "")))
        codes.push_back({{"code", code.code}, {"text", code.text}});
    return codes;
}

record::Grade grade_of(const std::string& name) {
    return name == "high"       ? record::Grade::High
           : name == "moderate" ? record::Grade::Moderate
                                : record::Grade::Low;
}

std::vector<record::Factor> factors_of(const json& notes, const std::vector<CanalAnatomy>& canals) {
    std::vector<record::Factor> factors = record::measured_factors(canals);
    const json difficulty = notes.value("difficulty", json::object());
    for (const json& given : difficulty.value("factors", json::array())) {
        factors.push_back({given.at("factor"), grade_of(given.at("grade")),
                           given.value("text", "entered by the clinician")});
    }
    return factors;
}

json recalls_of(const json& notes) {
    json recalls{{"due", json::array()}, {"done", json::array()}};
    const std::string completed = notes.value("completed", "");
    if (const auto dates = record::recall_dates(completed)) recalls["due"] = *dates;
    for (const json& given : notes.value("recalls", json::array())) {
        const auto flag = [&](const char* key) {
            return given.contains(key) ? std::optional<bool>(given.at(key).get<bool>())
                                       : std::nullopt;
        };
        json found{{"date", given.at("date")}};
        if (given.contains("periapical_index")) {
            found["periapical_index"] = given.at("periapical_index");
            found["periapical_index_text"] =
                record::periapical_index_text(given.at("periapical_index"));
        }
        if (const auto years = record::years_between(completed, given.at("date"))) {
            found["years"] = *years;
            found["outcome"] =
                record::outcome_by_ese({*years, flag("symptoms"), flag("ligament_normal"),
                                        flag("resorption"), given.value("lesion", "")});
        }
        recalls["done"].push_back(std::move(found));
    }
    return recalls;
}

}  // namespace

Result<std::vector<CanalAnatomy>> anatomy_of(const Tooth& tooth) {
    const Result<ToothMeasures> measures = measure(tooth);
    if (!measures) return tl::unexpected(measures.error());
    std::vector<CanalAnatomy> canals;
    for (const CanalMeasures& measured : measures->canals) {
        CanalAnatomy canal;
        canal.canal = measured.canal;
        canal.curvature_deg = measured.worst.schneider_deg;
        canal.s_shaped = measured.s_shaped;
        canal.apex_mm = apical_width_mm(measured);
        if (measured.thinnest_wall) {
            canal.wall_mm = measured.thinnest_wall->wall_mm;
            canal.wall_depth_mm = measured.thinnest_wall->depth_mm;
        }
        if (const Canal* traced = tooth.find(measured.canal)) canal.presence = traced->presence;
        canals.push_back(std::move(canal));
    }
    return canals;
}

json findings_of(const json& notes, const std::string& fdi,
                 const std::vector<CanalAnatomy>& canals) {
    const std::vector<record::Factor> factors = factors_of(notes, canals);
    const record::Grade grade = record::overall(factors);
    json listed = json::array(), consent = json::array();
    for (const record::Factor& factor : factors) {
        listed.push_back({{"factor", factor.factor},
                          {"grade", record::to_string(factor.grade)},
                          {"because", factor.because}});
    }
    for (const record::ConsentPoint& point : record::consent_points(fdi, canals, grade))
        consent.push_back({{"point", point.point}, {"because", point.because}});
    return {{"icd10", codes_of(notes)},
            {"difficulty", {{"grade", record::to_string(grade)}, {"factors", listed}}},
            {"consent", consent},
            {"recalls", recalls_of(notes)}};
}

}  // namespace anfract::server
