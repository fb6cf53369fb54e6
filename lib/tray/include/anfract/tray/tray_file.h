#pragma once

#include <filesystem>
#include <nlohmann/json_fwd.hpp>

#include "anfract/base/result.h"
#include "anfract/tray/device.h"

namespace anfract {

/// Reads an anfract.tray file. Beyond the schema it checks that ids are unique, the working part is
/// not longer than the device, the bore is smaller than the outside, and tables rise (BadInput
/// names the device).
Result<Tray> read_tray(const std::filesystem::path& path);
Result<Tray> tray_from_json(const nlohmann::json& document, const std::string& where);
nlohmann::json tray_to_json(const Tray& tray);
Result<void> write_tray(const std::filesystem::path& path, const Tray& tray);

/// The generic tray that ships with the program, with the sources of its sizes.
Tray generic_tray();

}  // namespace anfract
