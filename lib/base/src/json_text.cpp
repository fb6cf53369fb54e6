#include "anfract/base/json_text.h"

#include <nlohmann/json.hpp>
#include <string>

namespace anfract {
namespace {

using nlohmann::json;

/// Builds the value, remembers the last key, so that a syntax error can name its place, and stops
/// at the limit of depth.
class GuardedParser : public nlohmann::detail::json_sax_dom_parser<json> {
    using Base = nlohmann::detail::json_sax_dom_parser<json>;

  public:
    explicit GuardedParser(json& value) : Base(value, false) {}

    bool key(std::string& name) {
        last_key_ = name;
        return Base::key(name);
    }
    bool start_object(std::size_t size) { return deeper() && Base::start_object(size); }
    bool start_array(std::size_t size) { return deeper() && Base::start_array(size); }
    bool end_object() {
        --depth_;
        return Base::end_object();
    }
    bool end_array() {
        --depth_;
        return Base::end_array();
    }
    bool parse_error(std::size_t position, const std::string& last_token,
                     const nlohmann::detail::exception& error) {
        position_ = position;
        last_token_ = last_token;
        return Base::parse_error(position, last_token, error);
    }

    /// What is wrong, after a parse that failed.
    std::string complaint() const {
        const std::string key = last_key_.empty() ? "" : ", at or after key '" + last_key_ + "'";
        if (depth_ > json_depth_limit) {
            return "is nested deeper than the " + std::to_string(json_depth_limit) +
                   " levels this program reads" + key;
        }
        constexpr std::size_t shown = 40;
        const std::string near = last_token_.size() <= shown
                                     ? last_token_
                                     : "..." + last_token_.substr(last_token_.size() - shown);
        return "is not valid JSON at byte " + std::to_string(position_) + key + " (near '" + near +
               "')";
    }

  private:
    bool deeper() { return ++depth_ <= json_depth_limit; }

    std::string last_key_, last_token_;
    std::size_t position_ = 0, depth_ = 0;
};

}  // namespace

Result<json> parse_json(std::string_view text, std::string_view where) {
    json value;
    GuardedParser parser(value);
    if (json::sax_parse(text, &parser)) return value;
    return fail(ErrorCode::BadInput, parser.complaint(), std::string(where), "correct the file");
}

}  // namespace anfract
