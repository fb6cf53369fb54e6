#include "anfract/server/discharge_values.h"

#include <algorithm>
#include <cstdio>
#include <map>
#include <nlohmann/json.hpp>

#include "anfract/record/diagnosis.h"
#include "anfract/record/follow_up.h"
#include "anfract/report/document.h"

namespace anfract::server {
using nlohmann::json;

namespace {

constexpr const char* not_recorded = "not recorded";

/// "symptomatic apical periodontitis" for "symptomatic-apical-periodontitis".
std::string words_of(std::string term) {
    std::replace(term.begin(), term.end(), '-', ' ');
    return term;
}

std::string joined(const json& texts) {
    std::string all;
    for (const json& text : texts) all += (all.empty() ? "" : ", ") + text.get<std::string>();
    return all;
}

std::string millimetres(double value) {
    char text[32];
    std::snprintf(text, sizeof text, "%.1f", value);
    return text;
}

std::string filling_words(const json& filling) {
    if (!filling.contains("from_apex_mm")) return not_recorded;
    const double short_mm = filling.at("from_apex_mm");
    std::string text = short_mm < 0 ? millimetres(-short_mm) + " beyond it"
                                    : millimetres(short_mm) + " short of it";
    if (filling.value("space_visible", false)) text += "; a space is visible";
    return text;
}

/// One row for each canal that the log or the final radiograph knows.
json canals_of(const std::vector<json>& log, const json& notes) {
    std::map<std::string, json> rows;
    const auto row = [&](const std::string& canal) -> json& {
        const auto [at, fresh] = rows.try_emplace(canal);
        if (fresh) {
            at->second = {{"name", canal},
                          {"depth", not_recorded},
                          {"device", not_recorded},
                          {"filling", not_recorded}};
        }
        return at->second;
    };
    for (const auto& [canal, depth_mm] : record::measured_depths_mm(log))
        row(canal)["depth"] = millimetres(depth_mm);
    for (const json& entry : record::corrected(log)) {
        if (entry.at("kind") == "step-done" && entry.contains("canal") && entry.contains("device"))
            row(entry.at("canal"))["device"] = entry.at("device");
    }
    for (const json& filling : notes.value("fillings", json::array()))
        row(filling.at("canal"))["filling"] = filling_words(filling);
    json list = json::array();
    for (const auto& [canal, values] : rows) list.push_back(values);
    return list;
}

json events_of(const std::vector<json>& log, const json& notes) {
    json events = json::array();
    for (const json& event : notes.value("events", json::array())) {
        json line = event;
        line["kind"] = words_of(event.at("kind"));
        events.push_back(line);
    }
    // A broken instrument is told whether or not somebody wrote it down again.
    for (const json& entry : record::corrected(log)) {
        if (entry.at("kind") != "device-broken") continue;
        events.push_back({{"kind", "instrument broken"},
                          {"canal", entry.value("canal", "")},
                          {"date", entry.at("at").get<std::string>().substr(0, 10)},
                          {"text", entry.value("device", "") + " " + entry.value("text", "")}});
    }
    return events;
}

void add_list(json& values, const std::string& name, json list) {
    values["has_" + name] = !list.empty();
    values[name] = std::move(list);
}

}  // namespace

Result<json> discharge_values(const record::Record& record, const std::string& case_id) {
    const auto entry = record.cases().find(case_id);
    if (!entry) return tl::unexpected(entry.error());
    const auto newest = record.notes().find(case_id);
    if (!newest) return tl::unexpected(newest.error());
    const auto log = record.log().entries(case_id);
    if (!log) return tl::unexpected(log.error());
    const json& notes = newest->notes;
    const auto part = [&](const char* name) { return notes.value(name, json::object()); };

    json values = tooth_values(entry->fdi, "en");
    const json diagnosis = part("diagnosis"), restoration = part("restoration");
    values["question"] = part("referral").value("question", "");
    values["pulpal"] = words_of(diagnosis.value("pulpal", not_recorded));
    values["apical"] = words_of(diagnosis.value("apical", not_recorded));
    values["codes"] = joined(diagnosis.value("icd10", json::array()));
    if (values["codes"] == "") {
        json codes = json::array();
        for (const record::DiagnosisCode& one :
             record::icd10_of(diagnosis.value("pulpal", ""), diagnosis.value("apical", "")))
            codes.push_back(one.code);
        values["codes"] = joined(codes);
    }
    values["diagnosis_text"] = diagnosis.value("text", "");
    values["completed"] = notes.value("completed", "");
    values["temporary"] = restoration.value("temporary", "");
    values["temporary_until"] = restoration.value("temporary_until", "");
    values["advice"] = restoration.value("advice", "");
    values["prognosis"] = notes.value("prognosis", "");
    add_list(values, "canals", canals_of(*log, notes));
    add_list(values, "materials", notes.value("materials", json::array()));
    add_list(values, "events", events_of(*log, notes));
    add_list(values, "instructions", notes.value("instructions", json::array()));
    json recalls = json::array();
    if (const auto due = record::recall_dates(notes.value("completed", ""))) recalls = *due;
    values["has_recalls"] = !recalls.empty();
    values["recalls"] = joined(recalls);
    values["invented"] = entry->invented;
    return values;
}

}  // namespace anfract::server
