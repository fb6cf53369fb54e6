#include "deliver.h"

#include <cstdio>

#include "anfract/base/json_document.h"

namespace anfract::cli {

Result<void> deliver(const std::string& out, const nlohmann::json& document,
                     std::string_view format) {
    if (out != "-") return write_document(out, document, format);
    const Result<std::string> text = document_text(document, format, "stdout");
    if (!text) return tl::unexpected(text.error());
    if (std::fwrite(text->data(), 1, text->size(), stdout) == text->size() &&
        std::fflush(stdout) == 0)
        return {};
    return fail(ErrorCode::Io, "cannot write to the standard output", "stdout");
}

}  // namespace anfract::cli
