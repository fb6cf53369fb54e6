#pragma once

#include <filesystem>
#include <nlohmann/json_fwd.hpp>

#include "anfract/base/result.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

/// Reads an anfract.tooth file. Beyond the schema it checks that arrays under `samples` are equally
/// long, depths rise, at least two samples exist, and branchings name canals of the file
/// (BadInput).
Result<Tooth> read_tooth(const std::filesystem::path& path);

/// The same from a parsed document; `where` names it in errors. What a hand-made file leaves out is
/// filled: round sections, curvature from the points, lengths from the samples.
Result<Tooth> tooth_from_json(const nlohmann::json& document, const std::string& where);

nlohmann::json tooth_to_json(const Tooth& tooth);

Result<void> write_tooth(const std::filesystem::path& path, const Tooth& tooth);

}  // namespace anfract
