#include "anfract/record/pseudonym.h"

#include <sodium.h>

#include <chrono>
#include <cstdio>
#include <map>
#include <nlohmann/json.hpp>
#include <regex>

#include "anfract/base/json_document.h"
#include "anfract/record/hash.h"
#include "anfract/record/instant.h"

namespace anfract::record {
using nlohmann::json;

namespace {

/// "" when nothing may be told of it.
std::string told_canal(const std::string& canal, const PseudonymousNames& names) {
    static const std::regex by_sides("[MDBPL]{1,3}[1-9]?");
    const auto found = names.canals.find(canal);
    if (found != names.canals.end()) return found->second;
    return std::regex_match(canal, by_sides) ? canal : "";
}

bool is_tooth(const std::string& text) {
    static const std::regex iso_3950("[1-8][1-8]");
    return std::regex_match(text, iso_3950);
}

std::string moved(const std::string& date, const Pseudonym& pseudonym) {
    const bool day_only = date.size() == 10;
    const auto instant = parse_instant(day_only ? date + "T00:00:00Z" : date);
    if (!instant) return "";
    const std::string text = to_text(*instant - std::chrono::days(pseudonym.days_earlier));
    return day_only ? text.substr(0, 10) : text;
}

const json& case_schema() {
    static const json schema = json::parse(schema_text("anfract.case"));
    return schema;
}

/// What may stay of a value by what the schema says of it; null: nothing.
class Keeper {
  public:
    Keeper(const Pseudonym& pseudonym, const PseudonymousNames& names)
        : pseudonym_(pseudonym), names_(names) {}

    json object(const json& value, const json& shape) const;

  private:
    json kept(const json& value, const json& shape, const std::string& key) const;

    const Pseudonym& pseudonym_;
    const PseudonymousNames& names_;
};

json Keeper::object(const json& value, const json& shape) const {
    json result = json::object();
    for (const auto& [key, inner] : shape.at("properties").items()) {
        if (!value.contains(key)) continue;
        json one = kept(value.at(key), inner, key);
        if (!one.is_null()) result[key] = std::move(one);
    }
    if (result.empty()) return nullptr;
    for (const json& needed : shape.value("required", json::array())) {
        const std::string key = needed;
        const bool is_date =
            shape.at("properties").at(key).value("$ref", "") == "#/definitions/date";
        if (result.contains(key)) continue;
        if (is_date) return nullptr;
        result[key] = "";
    }
    return result;
}

json Keeper::kept(const json& value, const json& shape, const std::string& key) const {
    const std::string reference = shape.value("$ref", "");
    if (reference == "#/definitions/date" && value.is_string()) {
        const std::string date = moved(value, pseudonym_);
        return date.empty() ? json() : json(date);
    }
    if (value.is_boolean() || value.is_number() || shape.contains("enum") ||
        shape.contains("pattern"))
        return value;
    if (key == "canal" && value.is_string()) {
        const std::string told = told_canal(value, names_);
        return told.empty() ? json() : json(told);
    }
    if (key == "tooth" && value.is_string() && is_tooth(value)) return value;
    if (value.is_object() && shape.contains("properties")) return object(value, shape);
    if (!value.is_array() || !shape.contains("items")) return nullptr;
    json list = json::array();
    for (const json& one : value) {
        json inner = kept(one, shape.at("items"), key);
        if (!inner.is_null()) list.push_back(std::move(inner));
    }
    return list.empty() ? json() : list;
}

std::string counted_id(std::size_t number) {
    char text[40];
    std::snprintf(text, sizeof text, "00000000-0000-4000-8000-%012zu", number);
    return text;
}

}  // namespace

Pseudonym new_pseudonym() {
    return {"P-" + random_hex(8), 365 + static_cast<int>(randombytes_uniform(3287))};
}

json pseudonymised_notes(const json& notes, const Pseudonym& pseudonym,
                         const PseudonymousNames& names) {
    json shape = case_schema();
    shape.erase("required");
    json result = Keeper(pseudonym, names).object(notes, shape);
    if (result.is_null()) result = json::object();
    result["format"] = "anfract.case";
    result["version"] = 1;
    result["patient"] = {{"reference", pseudonym.name}};
    return result;
}

json pseudonymised_log(const std::vector<json>& entries, const Pseudonym& pseudonym,
                       const PseudonymousNames& names) {
    json list = json::array();
    std::map<std::string, std::string> ids, devices = names.devices;
    const auto text_of = [](const json& entry, const char* key) {
        return entry.contains(key) && entry.at(key).is_string() ? entry.at(key).get<std::string>()
                                                                : std::string();
    };
    for (const json& entry : entries) {
        const std::string id = counted_id(list.size() + 1);
        ids[entry.at("entry_id")] = id;
        json one{
            {"entry_id", id}, {"at", moved(entry.at("at"), pseudonym)}, {"kind", entry.at("kind")}};
        for (const char* key : {"depth_mm", "seconds", "step"}) {
            if (entry.contains(key) && entry.at(key).is_number()) one[key] = entry.at(key);
        }
        if (const std::string device = text_of(entry, "device"); !device.empty()) {
            const std::string counted = "device-" + std::to_string(devices.size() + 1);
            one["device"] = devices.try_emplace(device, counted).first->second;
        }
        if (const std::string canal = text_of(entry, "canal"); !canal.empty()) {
            const std::string told = told_canal(canal, names);
            one["canal"] = told.empty() ? "other" : told;
        }
        if (const auto corrected = ids.find(text_of(entry, "corrects")); corrected != ids.end())
            one["corrects"] = corrected->second;
        list.push_back(std::move(one));
    }
    return {{"format", "anfract.log"}, {"version", 1}, {"entries", list}};
}

}  // namespace anfract::record
