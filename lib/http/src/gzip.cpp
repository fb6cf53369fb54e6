#include "anfract/http/gzip.h"

#include <zlib.h>

#include <cctype>
#include <new>

namespace anfract::http {
namespace {

std::string lower_without_spaces(std::string_view text) {
    std::string result;
    for (const char c : text) {
        if (c != ' ' && c != '\t')
            result.push_back(static_cast<char>(std::tolower(static_cast<unsigned char>(c))));
    }
    return result;
}

/// "gzip;q=0", also with zeros after the point, refuses.
bool refused(std::string_view parameters) {
    const std::size_t q = parameters.find("q=");
    return q != std::string_view::npos &&
           parameters.substr(q + 2).find_first_not_of("0.") == std::string_view::npos;
}

}  // namespace

std::string gzip(std::string_view bytes, int level) {
    z_stream stream{};
    constexpr int gzip_window = 15 + 16;
    if (deflateInit2(&stream, level, Z_DEFLATED, gzip_window, 8, Z_DEFAULT_STRATEGY) != Z_OK) {
        throw std::bad_alloc();
    }
    std::string out;
    std::string chunk(64 * 1024, '\0');
    // zlib counts in 32 bits, so larger inputs go in by pieces.
    constexpr std::size_t piece = std::size_t{1} << 30;
    int state = Z_OK;
    while (state != Z_STREAM_END) {
        if (stream.avail_in == 0 && !bytes.empty()) {
            const std::string_view now = bytes.substr(0, piece);
            stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(now.data()));
            stream.avail_in = static_cast<uInt>(now.size());
            bytes.remove_prefix(now.size());
        }
        stream.next_out = reinterpret_cast<Bytef*>(chunk.data());
        stream.avail_out = static_cast<uInt>(chunk.size());
        state = deflate(&stream, bytes.empty() ? Z_FINISH : Z_NO_FLUSH);
        out.append(chunk, 0, chunk.size() - stream.avail_out);
    }
    deflateEnd(&stream);
    return out;
}

bool accepts_gzip(std::string_view accept_encoding) {
    const std::string text = lower_without_spaces(accept_encoding);
    std::string_view rest = text;
    bool any = false;
    while (!rest.empty()) {
        const std::size_t comma = rest.find(',');
        const std::string_view entry = rest.substr(0, comma);
        const std::size_t semicolon = entry.find(';');
        const std::string_view coding = entry.substr(0, semicolon);
        const std::string_view parameters =
            semicolon == std::string_view::npos ? std::string_view() : entry.substr(semicolon);
        if (coding == "gzip" || coding == "x-gzip") return !refused(parameters);
        if (coding == "*") any = !refused(parameters);
        rest = comma == std::string_view::npos ? std::string_view() : rest.substr(comma + 1);
    }
    return any;
}

}  // namespace anfract::http
