#include "anfract/record/coming_plans.h"

#include <nlohmann/json.hpp>
#include <set>

#include "anfract/base/json_text.h"

namespace anfract::record {
using nlohmann::json;

namespace {

/// The devices an anfract.plan document asks for.
std::set<std::string> devices_of(const json& plan) {
    std::set<std::string> devices;
    for (const json& canal : plan.at("canals")) {
        for (const json& step : canal.at("order")) devices.insert(step.at("device"));
        for (const json& passive : canal.at("passive")) {
            if (passive.at("chosen").get<bool>()) devices.insert(passive.at("device"));
        }
        if (canal.contains("recapitulation") && canal.at("recapitulation").is_object())
            devices.insert(canal.at("recapitulation").at("device"));
    }
    return devices;
}

}  // namespace

Result<std::map<std::string, std::int64_t>> pieces_of_coming_plans(const Record& record) {
    const auto cases = record.cases().list();
    if (!cases) return tl::unexpected(cases.error());
    std::map<std::string, std::int64_t> pieces;
    for (const CaseEntry& one : *cases) {
        const auto file = record.cases().file(one.id, "plan");
        if (!file) continue;
        const auto notes = record.notes().find(one.id);
        if (!notes) return tl::unexpected(notes.error());
        if (notes->notes.contains("completed")) continue;
        const Result<std::string> text = record.vault().get(file->sha256);
        if (!text) continue;
        const Result<json> plan = parse_json(*text, "plan");
        if (!plan) continue;
        try {
            for (const std::string& device : devices_of(*plan)) ++pieces[device];
        } catch (const json::exception&) {
            continue;
        }
    }
    return pieces;
}

}  // namespace anfract::record
