#include "admission.h"

#include <ctime>

#include "anfract/http/gzip.h"
#include "anfract/http/problem.h"

namespace anfract::http {
namespace {

std::string value_of(const Head& head, const std::string& name) {
    const auto found = head.headers.find(name);
    return found == head.headers.end() ? std::string() : found->second;
}

/// "localhost:8080" without its port; brackets of an IPv6 address stay.
std::string_view host_without_port(std::string_view host) {
    const std::size_t bracket = host.rfind(']');
    const std::size_t colon = host.rfind(':');
    const bool has_port =
        colon != std::string_view::npos && (bracket == std::string_view::npos || colon > bracket);
    return has_port ? host.substr(0, colon) : host;
}

/// A foreign name may resolve to 127.0.0.1 (DNS rebinding): then a foreign page is of the same
/// origin as this server in the browser's eyes, and only the Host header gives it away.
bool names_loopback(std::string_view name) {
    return name == "127.0.0.1" || name == "localhost" || name == "[::1]";
}

/// An Origin must be ours as the browser sees it, that is the Host it asked. `Sec-Fetch-Site`
/// covers requests that carry no Origin, such as an image of another site.
bool comes_from_our_page(const Head& head, const Reach& reach) {
    const std::string origin = value_of(head, "origin");
    const std::string ours = (reach.tls ? "https://" : "http://") + value_of(head, "host");
    if (!origin.empty() && origin != ours) return false;
    const std::string site = value_of(head, "sec-fetch-site");
    const bool navigation = value_of(head, "sec-fetch-mode") == "navigate" &&
                            (head.method == "GET" || head.method == "HEAD");
    return navigation || site.empty() || site == "same-origin" || site == "none";
}

/// A browser adds cookies to what any page sends. What changes something and comes with one must
/// say that it comes from our page, as every browser of today does (OWASP, Cross-Site Request
/// Forgery Prevention: verifying the origin with standard headers).
bool says_where_it_comes_from(const Head& head) {
    return value_of(head, "cookie").empty() || head.method == "GET" || head.method == "HEAD" ||
           !value_of(head, "origin").empty() || value_of(head, "sec-fetch-site") == "same-origin";
}

std::string media_type_of(const Head& head) {
    const std::string value = value_of(head, "content-type");
    std::string type = value.substr(0, value.find(';'));
    while (!type.empty() && (type.back() == ' ' || type.back() == '\t')) type.pop_back();
    for (char& c : type) {
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    }
    return type;
}

Response refuse(int status, const char* code, std::string what, std::string where,
                std::string remedy) {
    const ErrorCode kind = status == 404 ? ErrorCode::NotFound : ErrorCode::BadInput;
    return problem(status, code, {kind, std::move(what), std::move(where), std::move(remedy)});
}

std::optional<Response> refuse_body(const Head& head, const BodyRule& rule) {
    const bool has_body = head.chunked || head.content_length.value_or(0) > 0;
    if (rule.kind == BodyRule::Kind::None) {
        if (!has_body) return std::nullopt;
        return refuse(413, "body_not_wanted", "this request takes no body", head.target,
                      "send it without");
    }
    if (media_type_of(head) != rule.content_type) {
        return refuse(415, "wrong_media_type", "the body must be " + rule.content_type, head.target,
                      "set Content-Type: " + rule.content_type);
    }
    if (rule.kind == BodyRule::Kind::File && !has_body)
        return refuse(400, "bad_input", "the file is empty", head.target, "send another one");
    if (head.content_length.value_or(0) > rule.limit_bytes) return too_large(rule.limit_bytes);
    return std::nullopt;
}

std::string http_date() {
    const std::time_t now = std::time(nullptr);
    std::tm utc{};
    gmtime_r(&now, &utc);
    std::string text(40, '\0');
    text.resize(std::strftime(text.data(), text.size(), "%a, %d %b %Y %H:%M:%S GMT", &utc));
    return text;
}

void compress(Response& response, const std::string& accept_encoding) {
    const std::string_view bytes = response.bytes();
    if (response.file || bytes.size() < 1024 || response.has("Content-Encoding")) return;
    std::string type;
    for (const auto& [name, value] : response.headers) {
        if (name == "Content-Type") type = value;
    }
    if (!type.starts_with("application/json") && !type.starts_with("text/")) return;
    response.set("Vary", "Accept-Encoding");
    if (!accepts_gzip(accept_encoding)) return;
    // Over loopback the time to compress counts more than the bytes.
    response.body = gzip(bytes, 1);
    response.shared_body.reset();
    response.set("Content-Encoding", "gzip");
}

}  // namespace

Response too_large(std::uint64_t limit_bytes) {
    const std::string limit = limit_bytes >= (1u << 20) ? std::to_string(limit_bytes >> 20) + " MiB"
                                                        : std::to_string(limit_bytes) + " bytes";
    return refuse(413, "too_large", "the body is larger than the " + limit + " taken here", "",
                  "send less");
}

Admission admit(const Head& head, const Router& router, const Reach& reach) {
    Admission admission;
    const auto refused = [&](Response response) {
        admission.refusal = std::move(response);
        return std::move(admission);
    };
    if (head.headers.count("host") != 1) {
        return refused(refuse(400, "bad_host", "the request needs exactly one Host header", "",
                              "send HTTP/1.1"));
    }
    const std::string host(host_without_port(head.headers.find("host")->second));
    if (!names_loopback(host) && !reach.is_our_name(host)) {
        return refused(refuse(421, "wrong_host", "this server does not answer to that name",
                              value_of(head, "host"),
                              reach.tls ? "use a name that its certificate holds"
                                        : "use http://127.0.0.1 with its port"));
    }
    const std::optional<Target> target = parse_target(head.target);
    if (!target) {
        return refused(
            refuse(400, "bad_target", "the address is malformed", "", "check the address"));
    }
    if (!comes_from_our_page(head, reach) || !says_where_it_comes_from(head)) {
        return refused(refuse(403, "wrong_origin", "requests of other sites are refused",
                              value_of(head, "origin"), "use this server's own page"));
    }
    Router::Match match = router.find(head.method, *target);
    if (match.status == 405) {
        Response response = refuse(405, "wrong_method", head.method + " is not possible here",
                                   target->path(), "use " + match.allow);
        response.set("Allow", match.allow);
        return refused(std::move(response));
    }
    if (match.route == nullptr) {
        return refused(
            refuse(404, "not_found", "there is nothing here", target->path(), "check the address"));
    }
    if (std::optional<Response> refusal = refuse_body(head, match.route->body)) {
        return refused(std::move(*refusal));
    }
    admission.route = match.route;
    admission.request.method = match.route->method;
    admission.request.path = target->path();
    admission.request.parameters = std::move(match.parameters);
    admission.request.query = target->query;
    admission.request.headers = head.headers;
    return admission;
}

void finish(Response& response, const std::string& accept_encoding, const ServerOptions& options) {
    if (!response.stream) compress(response, accept_encoding);
    response.set("Date", http_date());
    if (!response.has("Cache-Control")) response.set("Cache-Control", "no-store");
    response.set("Content-Security-Policy", options.content_security_policy);
    response.set("X-Content-Type-Options", "nosniff");
    response.set("X-Frame-Options", "DENY");
    response.set("Referrer-Policy", "no-referrer");
    response.set("Cross-Origin-Opener-Policy", "same-origin");
    response.set("Cross-Origin-Resource-Policy", "same-origin");
    const bool loopback = options.address.starts_with("127.") || options.address == "::1";
    if (!options.tls.empty() && !loopback)  // a browser must not keep this of a "localhost"
        response.set("Strict-Transport-Security", "max-age=31536000");
    response.set("Permissions-Policy",
                 "camera=(), microphone=(), geolocation=(), payment=(), usb=(), serial=()");
}

}  // namespace anfract::http
