#pragma once

#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "statistics.h"

namespace anfract::truth {

/// The tables as Markdown.
std::string markdown_of(const Statistics& statistics);

/// Statistics and every run, as JSON.
std::string json_of(const Statistics& statistics, const std::vector<Trial>& runs);

/// truth-reliability.svg and truth-roc.svg in an existing folder.
Result<void> write_figures(const Statistics& statistics, const std::string& folder);

}  // namespace anfract::truth
