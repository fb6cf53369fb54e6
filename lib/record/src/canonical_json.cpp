#include "anfract/record/canonical_json.h"

#include <array>
#include <charconv>
#include <cmath>
#include <nlohmann/json.hpp>

namespace anfract::record {
using nlohmann::json;

namespace {

/// A number as ECMAScript's Number::toString writes it: the shortest digits that read back as the
/// same double, without an exponent from 1e-6 to below 1e21.
std::string number_text(double value) {
    if (value == 0) return "0";  // also of minus zero
    std::array<char, 32> digits{};
    const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), std::abs(value),
                                   std::chars_format::scientific);
    std::string mantissa(digits.data(), end.ptr);
    const std::size_t e = mantissa.find('e');
    const int exponent = std::stoi(mantissa.substr(e + 1));
    mantissa.resize(e);
    std::erase(mantissa, '.');
    const int count = static_cast<int>(mantissa.size());

    std::string text;
    if (exponent >= 21 || exponent < -6) {
        text = mantissa.substr(0, 1);
        if (count > 1) text += "." + mantissa.substr(1);
        text += "e";
        text += exponent < 0 ? "-" : "+";
        text += std::to_string(std::abs(exponent));
    } else if (exponent < 0) {
        text = "0." + std::string(static_cast<std::size_t>(-exponent - 1), '0') + mantissa;
    } else if (count <= exponent + 1) {
        text = mantissa + std::string(static_cast<std::size_t>(exponent + 1 - count), '0');
    } else {
        const auto whole = static_cast<std::size_t>(exponent + 1);
        text = mantissa.substr(0, whole) + "." + mantissa.substr(whole);
    }
    return (value < 0 ? "-" : "") + text;
}

void append(const json& value, std::string& text) {
    bool first = true;
    const auto comma = [&] {
        if (!first) text += ',';
        first = false;
    };
    switch (value.type()) {
        case json::value_t::object:
            text += '{';
            for (const auto& [key, member] : value.items()) {  // a std::map: in order of its keys
                comma();
                text += json(key).dump() + ':';
                append(member, text);
            }
            text += '}';
            return;
        case json::value_t::array:
            text += '[';
            for (const json& element : value) {
                comma();
                append(element, text);
            }
            text += ']';
            return;
        case json::value_t::number_float:
        case json::value_t::number_integer:
        case json::value_t::number_unsigned:
            text += number_text(value.get<double>());
            return;
        default:
            text += value.dump();
    }
}

}  // namespace

std::string canonical_json(const json& value) {
    std::string text;
    append(value, text);
    return text;
}

}  // namespace anfract::record
