#include "anfract/http/event_stream.h"

namespace anfract::http {

std::string format_event(std::string_view name, std::string_view data) {
    std::string text;
    text.reserve(name.size() + data.size() + 24);
    text.append("event: ").append(name).append("\ndata: ");
    for (std::size_t i = 0; i < data.size(); ++i) {
        const char c = data[i];
        // CR LF, CR and LF all end a line of the stream.
        if (c == '\r' && i + 1 < data.size() && data[i + 1] == '\n') continue;
        if (c == '\n' || c == '\r') {
            text.append("\ndata: ");
        } else {
            text.push_back(c);
        }
    }
    text.append("\n\n");
    return text;
}

}  // namespace anfract::http
