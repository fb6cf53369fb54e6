#include "anfract/http/message.h"

#include <strings.h>

#include <algorithm>

namespace anfract::http {
namespace {

std::optional<std::string> first(const std::multimap<std::string, std::string>& map,
                                 const std::string& name) {
    const auto found = map.lower_bound(name);
    if (found == map.end() || found->first != name) return std::nullopt;
    return found->second;
}

bool same_name(const std::string& a, const std::string& b) {
    return ::strcasecmp(a.c_str(), b.c_str()) == 0;
}

}  // namespace

std::optional<std::string> Request::header(const std::string& lower_case_name) const {
    return first(headers, lower_case_name);
}

std::optional<std::string> Request::query_value(const std::string& name) const {
    return first(query, name);
}

void Response::set(const std::string& name, std::string value) {
    for (auto& [existing, old] : headers) {
        if (same_name(existing, name)) {
            old = std::move(value);
            return;
        }
    }
    headers.emplace_back(name, std::move(value));
}

bool Response::has(const std::string& name) const {
    return std::any_of(headers.begin(), headers.end(),
                       [&](const auto& header) { return same_name(header.first, name); });
}

Response respond(int status, std::string content_type, std::string body) {
    Response response;
    response.status = status;
    response.set("Content-Type", std::move(content_type));
    response.body = std::move(body);
    return response;
}

std::string_view status_name(int status) {
    switch (status) {
        case 200:
            return "OK";
        case 201:
            return "Created";
        case 202:
            return "Accepted";
        case 204:
            return "No Content";
        case 304:
            return "Not Modified";
        case 400:
            return "Bad Request";
        case 403:
            return "Forbidden";
        case 404:
            return "Not Found";
        case 405:
            return "Method Not Allowed";
        case 408:
            return "Request Timeout";
        case 409:
            return "Conflict";
        case 413:
            return "Content Too Large";
        case 415:
            return "Unsupported Media Type";
        case 421:
            return "Misdirected Request";
        case 422:
            return "Unprocessable Content";
        case 431:
            return "Request Header Fields Too Large";
        case 500:
            return "Internal Server Error";
        case 501:
            return "Not Implemented";
        case 503:
            return "Service Unavailable";
        case 507:
            return "Insufficient Storage";
        default:
            return "Unknown";
    }
}

}  // namespace anfract::http
