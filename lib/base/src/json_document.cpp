#include "anfract/base/json_document.h"

#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validator.hpp>

#include "anfract/base/file.h"
#include "anfract/base/json_text.h"
#include "schemas.h"

namespace anfract {
namespace {

using nlohmann::json;

/// "canals[0].samples" from valijson's "<root>", "[canals]", "[0]", "[samples]".
std::string key_path(const std::vector<std::string>& context) {
    std::string path;
    for (std::size_t i = 1; i < context.size(); ++i) {
        const std::string inner = context[i].substr(1, context[i].size() - 2);
        const bool index = inner.find_first_not_of("0123456789") == std::string::npos;
        if (index) {
            path += "[" + inner + "]";
        } else {
            if (!path.empty()) path += ".";
            path += inner;
        }
    }
    return path;
}

/// The complaint that lies deepest in the document, which is the one nearest to the user's mistake.
std::string deepest_complaint(valijson::ValidationResults& results) {
    std::optional<valijson::ValidationResults::Error> deepest;
    valijson::ValidationResults::Error error;
    while (results.popError(error)) {
        if (!deepest || error.context.size() > deepest->context.size()) deepest = error;
    }
    if (!deepest) return "does not follow its schema";
    std::string text = deepest->description;
    while (!text.empty() && text.back() == '.') text.pop_back();
    if (!text.empty()) text[0] = static_cast<char>(std::tolower(text[0]));
    const std::string path = key_path(deepest->context);
    return path.empty() ? text : "key '" + path + "': " + text;
}

Result<void> check_schema(const json& document, std::string_view format, std::string_view where) {
    const std::string_view text = schema_text(format);
    const json schema_document = json::parse(text);
    valijson::Schema schema;
    valijson::SchemaParser().populateSchema(
        valijson::adapters::NlohmannJsonAdapter(schema_document), schema);
    valijson::Validator validator(valijson::Validator::kStrongTypes);
    valijson::ValidationResults results;
    if (validator.validate(schema, valijson::adapters::NlohmannJsonAdapter(document), &results)) {
        return {};
    }
    return fail(ErrorCode::BadInput, deepest_complaint(results), std::string(where),
                "correct the file");
}

Result<void> check_header(const json& document, std::string_view format, std::string_view where) {
    const auto complain = [&](std::string what) {
        return fail(ErrorCode::BadInput, std::move(what), std::string(where),
                    "give a file of the format " + std::string(format));
    };
    if (!document.is_object()) return complain("is not a JSON object");
    if (!document.contains("format")) return complain("key 'format' is missing");
    if (document["format"] != format) {
        const std::string found = document["format"].is_string()
                                      ? '"' + document["format"].get<std::string>() + '"'
                                      : "not text";
        return complain("key 'format' is " + found + ", where \"" + std::string(format) +
                        "\" is asked for");
    }
    if (!document.contains("version")) return complain("key 'version' is missing");
    const json& version = document["version"];
    if (!version.is_number()) return complain("key 'version' is not a number");
    const json schema = json::parse(schema_text(format));
    const auto newest = schema.value("x-version", 1);
    if (version.get<double>() > newest) {
        return fail(ErrorCode::BadInput,
                    "key 'version' is " + document["version"].dump() + ", newer than the version " +
                        std::to_string(newest) + " this program knows",
                    std::string(where), "use a newer program");
    }
    return {};
}

/// The path of the first number that is not finite, if any.
std::optional<std::string> not_finite(const json& node, const std::string& path) {
    if (node.is_number_float() && !std::isfinite(node.get<double>())) return path;
    if (!node.is_structured()) return std::nullopt;
    std::size_t index = 0;
    for (auto it = node.begin(); it != node.end(); ++it, ++index) {
        const std::string step = node.is_object() ? (path.empty() ? "" : ".") + it.key()
                                                  : "[" + std::to_string(index) + "]";
        if (auto found = not_finite(*it, path + step)) return found;
    }
    return std::nullopt;
}

/// "tooth.schema.json" holds the format "anfract.tooth".
std::string format_of(std::string_view schema_file) {
    return "anfract." + std::string(schema_file.substr(0, schema_file.find('.')));
}

}  // namespace

std::string_view schema_text(std::string_view format) {
    for (const auto& [file, text] : embedded_schemas()) {
        if (format_of(file) == format) return text;
    }
    return {};
}

std::vector<std::string> schema_formats() {
    std::vector<std::string> names;
    for (const auto& [file, text] : embedded_schemas()) names.push_back(format_of(file));
    return names;
}

Result<json> check_document(json document, std::string_view format, std::string_view where) {
    if (auto header = check_header(document, format, where); !header) {
        return tl::unexpected(header.error());
    }
    // 1.0 is the whole number 1, as JSON Schema counts.
    const double version = document["version"].get<double>();
    if (version >= 0 && version == std::floor(version))
        document["version"] = static_cast<int>(version);
    if (const auto key = not_finite(document, "")) {
        return fail(ErrorCode::BadInput, "key '" + *key + "' is not a finite number",
                    std::string(where), "correct the file");
    }
    if (auto valid = check_schema(document, format, where); !valid) {
        return tl::unexpected(valid.error());
    }
    return document;
}

Result<json> parse_document(std::string_view text, std::string_view format,
                            std::string_view where) {
    return parse_json(text, where).and_then([&](json document) {
        return check_document(std::move(document), format, where);
    });
}

Result<json> read_document(const std::filesystem::path& path, std::string_view format) {
    return read_file(path).and_then(
        [&](const std::string& text) { return parse_document(text, format, path.string()); });
}

Result<std::string> document_text(const json& document, std::string_view format,
                                  std::string_view where) {
    if (const auto key = not_finite(document, "")) {
        return fail(ErrorCode::BadInput,
                    "the result holds a number that is not finite at '" + *key + "'",
                    std::string(where));
    }
    if (auto valid = check_schema(document, format, where); !valid)
        return tl::unexpected(valid.error());
    return document.dump(1, ' ', false, json::error_handler_t::replace) + "\n";
}

Result<void> write_document(const std::filesystem::path& path, const json& document,
                            std::string_view format) {
    return document_text(document, format, path.string()).and_then([&](const std::string& text) {
        return write_file_atomically(path, text);
    });
}

}  // namespace anfract
