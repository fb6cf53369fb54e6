#include "anfract/server/discharge_values.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <map>
#include <nlohmann/json.hpp>

#include "anfract/record/diagnosis.h"
#include "anfract/record/follow_up.h"
#include "anfract/record/instant.h"
#include "anfract/report/document.h"
#include "anfract/tray/tray_file.h"

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

/// A text with a full stop, so that the next can follow it.
std::string as_sentence(const std::string& text) {
    const std::size_t end = text.find_last_not_of(" \n");
    if (end == std::string::npos) return "";
    return text.substr(0, end + 1) + (std::strchr(".!?", text[end]) == nullptr ? "." : "");
}

/// What the devices that a log names are called: in the stock, in the stored tray, or generically.
class DeviceNames {
  public:
    static Result<DeviceNames> of(const record::Record& record) {
        DeviceNames names;
        for (const Device& device : generic_tray().devices) names.add(device.id, device.name);
        const auto tray = record.trays().newest();
        if (!tray) return tl::unexpected(tray.error());
        const json stored = json::parse(tray->value_or("{}"), nullptr, false);
        if (stored.is_object()) {
            for (const json& device : stored.value("devices", json::array()))
                names.add(device.value("id", ""), device.value("name", ""));
        }
        const auto levels = record.stock().levels(record::now_text().substr(0, 10));
        if (!levels) return tl::unexpected(levels.error());
        for (const record::StockLevel& level : *levels)
            names.add(level.item.id, level.item.device.value("name", ""));
        return names;
    }
    /// The name, or the id of a device that is none of ours.
    std::string of(const std::string& id) const {
        const auto known = names_.find(id);
        return known == names_.end() ? id : known->second;
    }

  private:
    void add(const std::string& id, const std::string& name) {
        if (!name.empty()) names_[id] = name;
    }
    std::map<std::string, std::string> names_;
};

/// The names of the tooth's canals, also of those of which nothing else is recorded.
Result<std::vector<std::string>> traced_canals(const record::Record& record,
                                               const std::string& case_id) {
    const auto file = record.cases().file(case_id, "tooth");
    if (!file) return tl::unexpected(file.error());
    const auto text = record.vault().get(file->sha256);
    if (!text) return tl::unexpected(text.error());
    const json tooth = json::parse(*text, nullptr, false);
    std::vector<std::string> names;
    if (!tooth.is_object()) return names;
    for (const json& canal : tooth.value("canals", json::array()))
        names.push_back(canal.value("name", ""));
    return names;
}

/// One row for each canal that the scan, the log or the final radiograph knows.
json canals_of(const std::vector<std::string>& traced, const std::vector<json>& log,
               const json& notes, const Words& words, const DeviceNames& names) {
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
    for (const std::string& canal : traced) row(canal);
    for (const auto& [canal, depth_mm] : record::measured_depths_mm(log))
        row(canal)["depth"] = words.millimetres(depth_mm);
    for (const json& entry : record::corrected(log)) {
        if (entry.at("kind") == "step-done" && entry.contains("canal") && entry.contains("device"))
            row(entry.at("canal"))["device"] = names.of(entry.at("device"));
    }
    for (const json& filling : notes.value("fillings", json::array()))
        row(filling.at("canal"))["filling"] = filling_words(filling, words);
    json list = json::array();
    for (const auto& [canal, values] : rows) list.push_back(values);
    return list;
}

json events_of(const std::vector<json>& log, const json& notes, const Words& words,
               const DeviceNames& names) {
    json events = json::array();
    for (const json& event : notes.value("events", json::array())) {
        json line = event;
        line["kind"] = words.of(event.at("kind"));
        for (const char* part : {"text", "action"}) line[part] = as_sentence(event.value(part, ""));
        events.push_back(line);
    }
    // A broken instrument is told whether or not somebody wrote it down again.
    for (const json& entry : record::corrected(log)) {
        if (entry.at("kind") != "device-broken") continue;
        events.push_back({{"kind", words.of("instrument-broken")},
                          {"canal", entry.value("canal", "")},
                          {"date", entry.at("at").get<std::string>().substr(0, 10)},
                          {"text", as_sentence(names.of(entry.value("device", ""))) + " " +
                                       as_sentence(entry.value("text", ""))}});
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
    const auto names = DeviceNames::of(record);
    if (!names) return tl::unexpected(names.error());
    const auto traced = traced_canals(record, case_id);
    if (!traced) return tl::unexpected(traced.error());
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
    values["diagnosis_text"] = as_sentence(diagnosis.value("text", ""));
    values["completed"] = notes.value("completed", "");
    values["temporary"] = restoration.value("temporary", "");
    values["temporary_until"] = restoration.value("temporary_until", "");
    values["advice"] = as_sentence(restoration.value("advice", ""));
    values["prognosis"] = as_sentence(notes.value("prognosis", ""));
    add_list(values, "canals", canals_of(*traced, *log, notes, words, *names));
    json materials = notes.value("materials", json::array());
    for (json& one : materials) {
        if (language == "de" && one.contains("use")) one["use"] = words.of(one["use"]);
    }
    add_list(values, "materials", std::move(materials));
    add_list(values, "events", events_of(*log, notes, words, *names));
    add_list(values, "instructions", notes.value("instructions", json::array()));
    json recalls = json::array();
    if (const auto due = record::recall_dates(notes.value("completed", ""))) recalls = *due;
    values["has_recalls"] = !recalls.empty();
    values["recalls"] = joined(recalls);
    values["invented"] = entry->invented;
    return values;
}

Result<std::optional<NamedPicture>> newest_radiograph(const record::Record& record,
                                                      const std::string& case_id) {
    const auto file = record.cases().file(case_id, "radiograph");
    if (!file && file.error().code == ErrorCode::NotFound) return std::optional<NamedPicture>();
    if (!file) return tl::unexpected(file.error());
    auto bytes = record.vault().get(file->sha256);
    if (!bytes) return tl::unexpected(bytes.error());
    return NamedPicture{file->name, file->made.substr(0, 10), std::move(*bytes)};
}

Result<std::string> discharge_letter(json values, const DischargePage& page, Letter letter,
                                     LetterForm form) {
    const bool german = page.language == "de";
    if (german) speak_german(letter);
    values.update({{"salutation", letter.salutation},
                   {"closing", letter.closing},
                   {"author", letter.author},
                   {"call", letter.call}});
    DocumentLook look;
    look.language = page.language;
    look.title = (german ? "Behandlung von Zahn " : "Treatment of tooth ") +
                 values.at("tooth").get<std::string>();
    look.invented = values.at("invented");
    look.addressed = true;
    if (page.radiograph) {
        values["radiograph"] = page.radiograph->name;
        values["radiograph_date"] = page.radiograph->date;
        look.pictures["radiograph"] = page.radiograph->bytes;
    }
    return document_from(page.text, values, letter, look, form);
}

}  // namespace anfract::server
