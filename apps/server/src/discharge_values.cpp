#include "anfract/server/discharge_values.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>
#include <nlohmann/json.hpp>

#include "anfract/record/diagnosis.h"
#include "anfract/record/follow_up.h"
#include "anfract/report/document.h"

namespace anfract::server {
using nlohmann::json;

namespace {

/// The consensus terms and the words of the record's formats in German (common practice, no
/// source).
const std::map<std::string, std::string>& german_words() {
    static const std::map<std::string, std::string> words{
        {"normal-pulp", "gesunde Pulpa"},
        {"reversible-pulpitis", "reversible Pulpitis"},
        {"symptomatic-irreversible-pulpitis", "symptomatische irreversible Pulpitis"},
        {"asymptomatic-irreversible-pulpitis", "asymptomatische irreversible Pulpitis"},
        {"pulp-necrosis", "Pulpanekrose"},
        {"previously-treated", "bereits behandelt"},
        {"previously-initiated-therapy", "Behandlung bereits begonnen"},
        {"normal-apical-tissues", "gesundes apikales Gewebe"},
        {"symptomatic-apical-periodontitis", "symptomatische apikale Parodontitis"},
        {"asymptomatic-apical-periodontitis", "asymptomatische apikale Parodontitis"},
        {"acute-apical-abscess", "akuter apikaler Abszess"},
        {"chronic-apical-abscess", "chronischer apikaler Abszess"},
        {"condensing-osteitis", "kondensierende Ostitis"},
        {"deviation", "Abweichung"},
        {"adverse-event", "unerwünschtes Ereignis"},
        {"instrument-broken", "Instrument gebrochen"},
        {"anaesthetic", "Anästhetikum"},
        {"irrigant", "Spüllösung"},
        {"medicament", "Einlage"},
        {"sealer", "Sealer"},
        {"core", "Füllmaterial"},
        {"temporary", "provisorischer Verschluss"},
        {"build-up", "Aufbau"},
        {"other", "sonstiges"},
        {"not-recorded", "nicht festgehalten"},
        {"a-space-is-visible", "ein Spalt ist sichtbar"},
        {"short-of-it", "davor"},
        {"beyond-it", "darüber hinaus"}};
    return words;
}

/// What the terms of the formats are called in one language.
class Words {
  public:
    explicit Words(const std::string& language) : german_(language == "de") {}

    /// "symptomatic apical periodontitis" for "symptomatic-apical-periodontitis".
    std::string of(std::string term) const {
        if (german_) {
            const auto known = german_words().find(term);
            if (known != german_words().end()) return known->second;
        }
        std::replace(term.begin(), term.end(), '-', ' ');
        return term;
    }
    std::string not_recorded() const { return of("not-recorded"); }
    std::string millimetres(double value) const {
        char text[32];
        std::snprintf(text, sizeof text, "%.1f", value);
        std::string number = text;
        if (german_) std::replace(number.begin(), number.end(), '.', ',');
        return number;
    }

  private:
    bool german_;
};

std::string joined(const json& texts) {
    std::string all;
    for (const json& text : texts) all += (all.empty() ? "" : ", ") + text.get<std::string>();
    return all;
}

std::string filling_words(const json& filling, const Words& words) {
    if (!filling.contains("from_apex_mm")) return words.not_recorded();
    const double short_mm = filling.at("from_apex_mm");
    std::string text = words.millimetres(std::abs(short_mm)) + " " +
                       words.of(short_mm < 0 ? "beyond-it" : "short-of-it");
    if (filling.value("space_visible", false)) text += "; " + words.of("a-space-is-visible");
    return text;
}

/// One row for each canal that the log or the final radiograph knows.
json canals_of(const std::vector<json>& log, const json& notes, const Words& words) {
    std::map<std::string, json> rows;
    const auto row = [&](const std::string& canal) -> json& {
        const auto [at, fresh] = rows.try_emplace(canal);
        if (fresh) {
            at->second = {{"name", canal},
                          {"depth", words.not_recorded()},
                          {"device", words.not_recorded()},
                          {"filling", words.not_recorded()}};
        }
        return at->second;
    };
    for (const auto& [canal, depth_mm] : record::measured_depths_mm(log))
        row(canal)["depth"] = words.millimetres(depth_mm);
    for (const json& entry : record::corrected(log)) {
        if (entry.at("kind") == "step-done" && entry.contains("canal") && entry.contains("device"))
            row(entry.at("canal"))["device"] = entry.at("device");
    }
    for (const json& filling : notes.value("fillings", json::array()))
        row(filling.at("canal"))["filling"] = filling_words(filling, words);
    json list = json::array();
    for (const auto& [canal, values] : rows) list.push_back(values);
    return list;
}

json events_of(const std::vector<json>& log, const json& notes, const Words& words) {
    json events = json::array();
    for (const json& event : notes.value("events", json::array())) {
        json line = event;
        line["kind"] = words.of(event.at("kind"));
        events.push_back(line);
    }
    // A broken instrument is told whether or not somebody wrote it down again.
    for (const json& entry : record::corrected(log)) {
        if (entry.at("kind") != "device-broken") continue;
        events.push_back({{"kind", words.of("instrument-broken")},
                          {"canal", entry.value("canal", "")},
                          {"date", entry.at("at").get<std::string>().substr(0, 10)},
                          {"text", entry.value("device", "") + " " + entry.value("text", "")}});
    }
    return events;
}

/// Greets in German where the practice's letter leaves the greeting open.
void speak_german(Letter& letter) {
    const Letter plain;
    if (letter.salutation == plain.salutation)
        letter.salutation = "Sehr geehrte Kollegin, sehr geehrter Kollege,";
    if (letter.closing == plain.closing) letter.closing = "Mit freundlichen Grüßen";
}

void add_list(json& values, const std::string& name, json list) {
    values["has_" + name] = !list.empty();
    values[name] = std::move(list);
}

}  // namespace

Result<json> discharge_values(const record::Record& record, const std::string& case_id,
                              const std::string& language) {
    const Words words(language);
    const auto entry = record.cases().find(case_id);
    if (!entry) return tl::unexpected(entry.error());
    const auto newest = record.notes().find(case_id);
    if (!newest) return tl::unexpected(newest.error());
    const auto log = record.log().entries(case_id);
    if (!log) return tl::unexpected(log.error());
    const json& notes = newest->notes;
    const auto part = [&](const char* name) { return notes.value(name, json::object()); };

    json values = tooth_values(entry->fdi, language);
    const json diagnosis = part("diagnosis"), restoration = part("restoration");
    values["question"] = part("referral").value("question", "");
    values["pulpal"] = words.of(diagnosis.value("pulpal", "not-recorded"));
    values["apical"] = words.of(diagnosis.value("apical", "not-recorded"));
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
    add_list(values, "canals", canals_of(*log, notes, words));
    json materials = notes.value("materials", json::array());
    for (json& one : materials) {
        if (language == "de" && one.contains("use")) one["use"] = words.of(one["use"]);
    }
    add_list(values, "materials", std::move(materials));
    add_list(values, "events", events_of(*log, notes, words));
    add_list(values, "instructions", notes.value("instructions", json::array()));
    json recalls = json::array();
    if (const auto due = record::recall_dates(notes.value("completed", ""))) recalls = *due;
    values["has_recalls"] = !recalls.empty();
    values["recalls"] = joined(recalls);
    values["invented"] = entry->invented;
    return values;
}

Result<std::string> discharge_letter(json values, const std::string& page, Letter letter,
                                     const std::string& language, LetterForm form) {
    if (language == "de") speak_german(letter);
    values.update({{"salutation", letter.salutation},
                   {"closing", letter.closing},
                   {"author", letter.author},
                   {"call", letter.call}});
    DocumentLook look;
    look.language = language;
    look.title = (language == "de" ? "Behandlung von Zahn " : "Treatment of tooth ") +
                 values.at("tooth").get<std::string>();
    look.invented = values.at("invented");
    return document_from(page, values, letter, look, form);
}

}  // namespace anfract::server
