#pragma once

#include <initializer_list>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

namespace anfract {

template <class T>
nlohmann::json or_null(const std::optional<T>& value) {
    return value ? nlohmann::json(*value) : nlohmann::json(nullptr);
}

template <class T>
std::optional<T> optional_from(const nlohmann::json& object, const char* key) {
    if (!object.contains(key) || object[key].is_null()) return std::nullopt;
    return object[key].template get<T>();
}

/// The value whose word this is; the schema lets no other word through.
template <class Enum>
Enum from_word(const std::string& word, std::initializer_list<Enum> values) {
    for (Enum value : values) {
        if (to_string(value) == word) return value;
    }
    return *values.begin();
}

}  // namespace anfract
