#include <charconv>
#include <cmath>

#include "command.h"

namespace anfract::cli {

// One line per command, in the order `anfract --help` shows them.
void add_commands(CLI::App& app, Action& action) {
    add_phantom_command(app, action);
    add_survey_command(app, action);
    add_trace_command(app, action);
    add_measure_command(app, action);
    add_rehearse_command(app, action);
    add_plan_command(app, action);
    add_report_command(app, action);
    add_serve_command(app, action);
}

Result<Vec3> parse_point(const std::string& text, const std::string& option) {
    Vec3 point;
    const char* at = text.data();
    const char* const end = at + text.size();
    for (int axis = 0; axis < 3; ++axis) {
        const auto [after, error] = std::from_chars(at, end, point[axis]);
        const bool separated = axis == 2 ? after == end : after != end && *after == ',';
        if (error != std::errc{} || !separated || !std::isfinite(point[axis])) {
            return fail(ErrorCode::BadInput, "'" + text + "' is not a point", option,
                        "give three numbers in millimetres such as 1.5,-20,33");
        }
        at = after + 1;
    }
    return point;
}

}  // namespace anfract::cli
