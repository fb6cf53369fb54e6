#pragma once

#include <string>
#include <tl/expected.hpp>
#include <utility>

namespace anfract {

/// What kind of thing went wrong; decides nothing but how a caller may react.
enum class ErrorCode {
    BadInput,      ///< a file or value from outside is not what it must be
    NotFound,      ///< a file, tooth, canal or device that was named is not there
    Io,            ///< the operating system refused to read or write
    Unsupported,   ///< a valid input this version cannot handle
    NotConverged,  ///< a solver stopped before its tolerance
    Cancelled,     ///< the caller asked to stop
    Conflict,      ///< someone else has changed it, or said otherwise, in the meantime
    NoRoom,        ///< there is no room for what was to be written
};

/// Something the world caused, as one sentence for a person: what, where, what to do.
struct Error {
    ErrorCode code = ErrorCode::BadInput;
    std::string what;    ///< what is wrong, lower case, no full stop: "slice 12 is missing"
    std::string where;   ///< the file, key or place; may be empty
    std::string remedy;  ///< what the user can do; may be empty

    /// "WHERE: WHAT; REMEDY." with the empty parts left out.
    std::string sentence() const;
};

/// A value, or the Error that kept it from being made.
template <class T>
using Result = tl::expected<T, Error>;

/// Makes the failure side of a Result.
inline tl::unexpected<Error> fail(ErrorCode code, std::string what, std::string where = {},
                                  std::string remedy = {}) {
    return tl::unexpected<Error>(Error{code, std::move(what), std::move(where), std::move(remedy)});
}

}  // namespace anfract
