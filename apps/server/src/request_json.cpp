#include "request_json.h"

#include <cmath>
#include <nlohmann/json.hpp>

#include "anfract/base/json_text.h"
#include "anfract/http/problem.h"

namespace anfract::server {
using nlohmann::json;

namespace {

tl::unexpected<Error> wrong(const std::string& what, const std::string& key,
                            const std::string& remedy) {
    return fail(ErrorCode::BadInput, what, key, remedy);
}

}  // namespace

Result<json> object_of(const http::Request& request) {
    Result<json> body = parse_json(request.body, request.path);
    if (!body) {
        body.error().remedy = "send {...}";
        return body;
    }
    if (!body->is_object())
        return wrong("the body is not a JSON object", request.path, "send {...}");
    return body;
}

Result<Vec3> point_of(const json& object, const std::string& key) {
    const auto found = object.find(key);
    const bool three = found != object.end() && found->is_array() && found->size() == 3;
    Vec3 point(0, 0, 0);
    for (std::size_t axis = 0; three && axis < 3; ++axis) {
        const json& value = (*found)[axis];
        if (!value.is_number() || !std::isfinite(value.get<double>())) break;
        point[static_cast<int>(axis)] = value.get<double>();
        if (axis == 2) return point;
    }
    return wrong("is not a point", key, "give three numbers in millimetres");
}

Result<std::optional<std::string>> optional_text(const json& object, const std::string& key) {
    const auto found = object.find(key);
    if (found == object.end() || found->is_null()) return std::optional<std::string>();
    if (!found->is_string()) return wrong("is not text", key, "give a string");
    return std::optional<std::string>(found->get<std::string>());
}

Result<std::optional<double>> optional_number(const json& object, const std::string& key) {
    const auto found = object.find(key);
    if (found == object.end() || found->is_null()) return std::optional<double>();
    if (!found->is_number() || !std::isfinite(found->get<double>())) {
        return wrong("is not a number", key, "give a number");
    }
    return std::optional<double>(found->get<double>());
}

Result<std::string> text_of(const json& object, const std::string& key) {
    const auto text = optional_text(object, key);
    if (!text) return tl::unexpected(text.error());
    if (!*text || (*text)->empty()) return wrong("is missing", key, "give a string");
    return **text;
}

json to_json(const Vec3& vector) { return {vector.x(), vector.y(), vector.z()}; }

http::Response json_response(int status, const json& body) {
    return http::respond(status, "application/json",
                         body.dump(-1, ' ', false, json::error_handler_t::replace));
}

http::Response job_response(const std::optional<std::string>& job) {
    if (job) return json_response(202, {{"job", *job}});
    return http::problem(503, "busy",
                         {ErrorCode::Io, "too many jobs are waiting", "", "try again later"});
}

}  // namespace anfract::server
