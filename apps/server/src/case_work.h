#pragma once

#include <map>
#include <memory>
#include <mutex>
#include <nlohmann/json.hpp>
#include <string>

#include "anfract/base/result.h"
#include "anfract/tooth/tooth.h"

namespace anfract::server {

/// A case as it appears in lists.
struct CaseRecord {
    std::string id;
    std::string scan;  ///< id of the scan it was traced in; may be empty
    std::string fdi;
    std::string label;
    bool invented = false;
    std::string created;  ///< UTC, ISO 8601
};

nlohmann::json to_json(const CaseRecord& record);

/// An open case: its tooth, and what was computed from it so far. All members may be called from
/// any thread.
class CaseWork {
  public:
    CaseWork(CaseRecord case_record, Tooth traced, nlohmann::json tooth_document)
        : record(std::move(case_record)),
          tooth(std::move(traced)),
          document(std::move(tooth_document)) {}

    const CaseRecord record;
    const Tooth tooth;
    const nlohmann::json document;  ///< the anfract.tooth document
};

}  // namespace anfract::server
