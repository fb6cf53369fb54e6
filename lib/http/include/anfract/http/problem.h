#pragma once

#include <string>

#include "anfract/base/result.h"
#include "anfract/http/message.h"

namespace anfract::http {

/// The one form in which every refusal leaves the server:
/// {"error": {"code", "what", "where", "remedy", "sentence"}}.
Response problem(int status, const std::string& code, const Error& error);

/// The same for an error of the program: BadInput 400, NotFound 404, Unsupported and NotConverged
/// 422, Cancelled 409, Io 500.
Response problem(const Error& error);

/// A status and the code of an Error, as problem(const Error&) chooses them.
int status_of(ErrorCode code);
std::string name_of(ErrorCode code);

}  // namespace anfract::http
