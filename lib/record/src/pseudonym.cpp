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

/// "MB", "36": short, of capital letters and digits.
bool is_name_of_a_canal(const std::string& text) {
    static const std::regex form("[A-Z0-9]{1,4}");
    return std::regex_match(text, form);
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
json kept(const json& value, const json& shape, const std::string& key, const Pseudonym& pseudonym);

json kept_object(const json& value, const json& shape, const Pseudonym& pseudonym) {
    json result = json::object();
    for (const auto& [key, inner] : shape.at("properties").items()) {
        if (!value.contains(key)) continue;
        json one = kept(value.at(key), inner, key, pseudonym);
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

json kept(const json& value, const json& shape, const std::string& key,
          const Pseudonym& pseudonym) {
    const std::string reference = shape.value("$ref", "");
    if (reference == "#/definitions/date" && value.is_string()) {
        const std::string date = moved(value, pseudonym);
        return date.empty() ? json() : json(date);
    }
    if (value.is_boolean() || value.is_number() || shape.contains("enum") ||
        shape.contains("pattern"))
        return value;
    const bool names = key == "canal" || key == "tooth";
    if (names && value.is_string() && is_name_of_a_canal(value)) return value;
    if (value.is_object() && shape.contains("properties"))
        return kept_object(value, shape, pseudonym);
    if (!value.is_array() || !shape.contains("items")) return nullptr;
    json list = json::array();
    for (const json& one : value) {
        json inner = kept(one, shape.at("items"), key, pseudonym);
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

json pseudonymised_notes(const json& notes, const Pseudonym& pseudonym) {
    json shape = case_schema();
    shape.erase("required");
    json result = kept_object(notes, shape, pseudonym);
    if (result.is_null()) result = json::object();
    result["format"] = "anfract.case";
    result["version"] = 1;
    result["patient"] = {{"reference", pseudonym.name}};
    return result;
}

json pseudonymised_log(const std::vector<json>& entries, const Pseudonym& pseudonym) {
    json list = json::array();
    std::map<std::string, std::string> ids;
    for (const json& entry : entries) {
        const std::string id = counted_id(list.size() + 1);
        ids[entry.at("entry_id")] = id;
        json one{
            {"entry_id", id}, {"at", moved(entry.at("at"), pseudonym)}, {"kind", entry.at("kind")}};
        for (const char* key : {"depth_mm", "seconds", "step"}) {
            if (entry.contains(key) && entry.at(key).is_number()) one[key] = entry.at(key);
        }
        if (entry.contains("device") && entry.at("device").is_string())
            one["device"] = entry.at("device");
        if (entry.contains("canal") && entry.at("canal").is_string() &&
            is_name_of_a_canal(entry.at("canal")))
            one["canal"] = entry.at("canal");
        if (entry.contains("corrects") && entry.at("corrects").is_string())
            one["corrects"] = ids[entry.at("corrects")];
        list.push_back(std::move(one));
    }
    return {{"format", "anfract.log"}, {"version", 1}, {"entries", list}};
}

}  // namespace anfract::record
