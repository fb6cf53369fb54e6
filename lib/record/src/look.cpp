#include "anfract/record/look.h"

namespace anfract::record {

Result<void> record_look(const AccessTrail& trail, const std::string& account,
                         const std::string& what, const std::string& subject) {
    Access line;
    line.account = account;
    line.what = what;
    line.subject = subject;
    auto written = trail.add({line});
    if (written) return written;
    Error error = written.error();
    error.what =
        "nothing of a patient is shown while the access trail cannot be written: " + error.what;
    return tl::unexpected(error);
}

}  // namespace anfract::record
