#pragma once

#include <filesystem>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "anfract/base/result.h"

namespace anfract {

/// Parses JSON text and checks it against the schema of its format.
///
/// @param text    UTF-8 JSON
/// @param format  "anfract.tooth", "anfract.tray", ...: the document's `format` must equal it, its
///                `version` must not be newer than the schema's, and the schema
///                `api/NAME.schema.json` (NAME without the prefix) must accept it. Unknown keys are
///                kept.
/// @param where   name for error messages, usually the file
/// @return the document; BadInput names the key (as a path such as `canals[0].samples.depth_mm`)
Result<nlohmann::json> parse_document(std::string_view text, std::string_view format,
                                      std::string_view where);

/// The same for what is JSON already, such as a part of another document.
Result<nlohmann::json> check_document(nlohmann::json document, std::string_view format,
                                      std::string_view where);

/// read_file and parse_document together.
Result<nlohmann::json> read_document(const std::filesystem::path& path, std::string_view format);

/// The text of a document this program made, checked against its schema. Fails (BadInput) rather
/// than write a number that is not finite; text that is no UTF-8 is replaced by U+FFFD.
Result<std::string> document_text(const nlohmann::json& document, std::string_view format,
                                  std::string_view where);

/// document_text and write_file_atomically together.
Result<void> write_document(const std::filesystem::path& path, const nlohmann::json& document,
                            std::string_view format);

/// The text of the embedded schema for `format`, or an empty view if there is none.
std::string_view schema_text(std::string_view format);

/// All formats that have an embedded schema.
std::vector<std::string> schema_formats();

}  // namespace anfract
