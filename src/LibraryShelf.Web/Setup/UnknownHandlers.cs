using Microsoft.AspNetCore.Diagnostics;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.Filters;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// Left to itself a page is also shown for a change that it has no handler for, with a model nobody filled. Here it answers 405
/// instead. A page put in the place of a failed answer is shown whatever the request was.
/// </summary>
internal sealed class UnknownHandlers : IPageFilter
{
    public void OnPageHandlerSelected(PageHandlerSelectedContext context)
    {
    }

    public void OnPageHandlerExecuting(PageHandlerExecutingContext context)
    {
        var http = context.HttpContext;
        if (context.HandlerMethod is not null || HttpMethods.IsGet(http.Request.Method) || HttpMethods.IsHead(http.Request.Method))
            return;
        if (http.Features.Get<IExceptionHandlerFeature>() is null && http.Features.Get<IStatusCodeReExecuteFeature>() is null)
            context.Result = new StatusCodeResult(StatusCodes.Status405MethodNotAllowed);
    }

    public void OnPageHandlerExecuted(PageHandlerExecutedContext context)
    {
    }
}
