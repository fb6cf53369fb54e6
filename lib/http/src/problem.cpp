#include "anfract/http/problem.h"

#include <nlohmann/json.hpp>

namespace anfract::http {

int status_of(ErrorCode code) {
    switch (code) {
        case ErrorCode::BadInput:
            return 400;
        case ErrorCode::NotFound:
            return 404;
        case ErrorCode::Unsupported:
        case ErrorCode::NotConverged:
            return 422;
        case ErrorCode::Cancelled:
        case ErrorCode::Conflict:
            return 409;
        case ErrorCode::NoRoom:
            return 507;
        case ErrorCode::Io:
            return 500;
    }
    return 500;
}

std::string name_of(ErrorCode code) {
    switch (code) {
        case ErrorCode::BadInput:
            return "bad_input";
        case ErrorCode::NotFound:
            return "not_found";
        case ErrorCode::Unsupported:
            return "unsupported";
        case ErrorCode::NotConverged:
            return "not_converged";
        case ErrorCode::Cancelled:
            return "cancelled";
        case ErrorCode::Conflict:
            return "conflict";
        case ErrorCode::NoRoom:
            return "disk_full";
        case ErrorCode::Io:
            return "io";
    }
    return "io";
}

Response problem(int status, const std::string& code, const Error& error) {
    const nlohmann::json body{{"error",
                               {{"code", code},
                                {"what", error.what},
                                {"where", error.where},
                                {"remedy", error.remedy},
                                {"sentence", error.sentence()}}}};
    // File names need not be UTF-8; what is not is replaced rather than refused.
    return respond(status, "application/json",
                   body.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace));
}

Response problem(const Error& error) {
    return problem(status_of(error.code), name_of(error.code), error);
}

}  // namespace anfract::http
