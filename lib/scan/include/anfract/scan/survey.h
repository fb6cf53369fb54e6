#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/scan/noise.h"
#include "anfract/scan/read_scan.h"
#include "anfract/scan/sharpness.h"
#include "anfract/scan/tissue_levels.h"

namespace anfract {

/// The thinnest canal that stands out over a length of it.
struct VisibleCanal {
    double length_mm = 0;
    double diameter_mm = 0;
};

/// What a scan is and what it can show.
struct Survey {
    double lowest_grey = 0;  ///< over all voxels
    double highest_grey = 0;
    double low_grey = 0;   ///< 0.1 % quantile
    double high_grey = 0;  ///< 99.9 % quantile
    std::optional<Noise> noise;
    std::optional<Sharpness> sharpness;
    std::vector<TissueLevel> tissues;
    /// Between the two images of edges where they stand double, as when the head moved.
    std::optional<double> double_edges_mm;
    double canal_contrast_grey = 0;     ///< dentine less canal; 0 when not known
    std::vector<VisibleCanal> visible;  ///< at detection index 5; empty when not known
    double half_maximum_limit_mm = 0;   ///< below this a half-maximum width shows the blur
    std::vector<std::string> verdict;   ///< plain sentences
};

/// Surveys a scan: grey values, noise, sharpness and what canal widths follow from them.
///
/// Noise and sharpness are measured in up to six cubes of some 80 voxels a side that hold the most
/// bright tissue, and the median is taken. Edges stand double when they do so by the same shift in
/// two of the cubes at least and in half of them. Errors: BadInput for an empty volume, Cancelled.
Result<Survey> survey(const Volume& volume, const Progress& progress);

/// The anfract.survey document (api/survey.schema.json).
nlohmann::json survey_document(const OpenedScan& scan, const Survey& survey);

/// A summary for a person, several lines.
std::string survey_text(const OpenedScan& scan, const Survey& survey);

}  // namespace anfract
