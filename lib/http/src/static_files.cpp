#include "anfract/http/static_files.h"

#include <array>
#include <cstdint>
#include <cstdio>

#include "anfract/base/file.h"
#include "anfract/http/gzip.h"
#include "anfract/http/problem.h"

namespace anfract::http {
namespace {

std::string_view last_segment(std::string_view path) {
    const std::size_t slash = path.rfind('/');
    return slash == std::string_view::npos ? path : path.substr(slash + 1);
}

/// FNV-1a, 64 bits. A tag need not resist an attacker: whoever can change the files can change the
/// program.
std::string content_tag(std::string_view bytes) {
    std::uint64_t hash = 14695981039346656037u;
    for (const char c : bytes) {
        hash ^= static_cast<unsigned char>(c);
        hash *= 1099511628211u;
    }
    std::array<char, 24> text{};
    std::snprintf(text.data(), text.size(), "%016llx", static_cast<unsigned long long>(hash));
    return text.data();
}

/// "index-B2xk9_1a.js": the bundler puts at least eight characters of hash before the ending.
bool carries_hash(std::string_view path) {
    if (!path.starts_with("assets/")) return false;
    const std::string_view name = last_segment(path);
    const std::size_t dot = name.rfind('.');
    const std::size_t dash = name.substr(0, dot).find('-');
    return dot != std::string_view::npos && dash != std::string_view::npos && dot - dash > 8;
}

bool is_text(std::string_view type) {
    return type.starts_with("text/") || type.starts_with("application/json") ||
           type.starts_with("image/svg") || type.starts_with("application/wasm") ||
           type.starts_with("application/manifest");
}

bool tag_listed(const std::string& if_none_match, const std::string& tag) {
    return if_none_match == "*" || if_none_match.find(tag) != std::string::npos;
}

}  // namespace

std::string media_type(std::string_view path) {
    static const std::map<std::string_view, const char*> types{
        {"html", "text/html; charset=utf-8"},
        {"js", "text/javascript; charset=utf-8"},
        {"mjs", "text/javascript; charset=utf-8"},
        {"css", "text/css; charset=utf-8"},
        {"json", "application/json"},
        {"svg", "image/svg+xml"},
        {"png", "image/png"},
        {"jpg", "image/jpeg"},
        {"ico", "image/x-icon"},
        {"webp", "image/webp"},
        {"woff2", "font/woff2"},
        {"wasm", "application/wasm"},
        {"txt", "text/plain; charset=utf-8"},
        {"map", "application/json"},
        {"webmanifest", "application/manifest+json"},
        {"pdf", "application/pdf"}};
    const std::string_view name = last_segment(path);
    const std::size_t dot = name.rfind('.');
    const auto found =
        dot == std::string_view::npos ? types.end() : types.find(name.substr(dot + 1));
    return found == types.end() ? "application/octet-stream" : found->second;
}

void StaticFiles::add(const std::string& path, std::string_view bytes) {
    File file;
    file.plain = std::make_shared<const std::string>(bytes);
    file.type = media_type(path);
    file.tag = content_tag(bytes);
    file.immutable = carries_hash(path);
    if (is_text(file.type) && bytes.size() > 512) {
        file.gzipped = std::make_shared<const std::string>(gzip(bytes, 9));
    }
    files_[path] = std::move(file);
}

Response StaticFiles::answer(const Request& request) const {
    std::string path = request.path.substr(1);
    auto found = files_.find(path);
    if (found == files_.end() && last_segment(path).find('.') == std::string_view::npos) {
        found = files_.find("index.html");
    }
    if (found == files_.end()) {
        return problem(404, "not_found",
                       {ErrorCode::NotFound, "there is nothing here", request.path, "start at /"});
    }
    const File& file = found->second;
    const bool zipped =
        file.gzipped && accepts_gzip(request.header("accept-encoding").value_or(""));
    // The two forms are different bytes, so they need different tags (RFC 9110, section 8.8.3).
    const std::string tag = "\"" + file.tag + (zipped ? "-gz\"" : "\"");
    Response response;
    response.set("Content-Type", file.type);
    response.set("ETag", tag);
    response.set("Cache-Control",
                 file.immutable ? "public, max-age=31536000, immutable" : "no-cache");
    if (file.gzipped) response.set("Vary", "Accept-Encoding");
    if (tag_listed(request.header("if-none-match").value_or(""), tag)) {
        response.status = 304;
        return response;
    }
    if (zipped) response.set("Content-Encoding", "gzip");
    response.shared_body = zipped ? file.gzipped : file.plain;
    return response;
}

StaticFiles read_static_files(const std::filesystem::path& directory) {
    StaticFiles files;
    std::error_code error;
    for (std::filesystem::recursive_directory_iterator at(directory, error), end;
         !error && at != end; at.increment(error)) {
        if (!at->is_regular_file(error)) continue;
        const Result<std::string> bytes = read_file(at->path());
        if (bytes) files.add(at->path().lexically_relative(directory).generic_string(), *bytes);
    }
    return files;
}

}  // namespace anfract::http
