using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class FewerNulls : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "IX_Downloads_DropId",
                table: "Downloads");

            migrationBuilder.DropIndex(
                name: "IX_Downloads_PersonId_ReleaseId",
                table: "Downloads");

            migrationBuilder.CreateIndex(
                name: "IX_Downloads_DropId",
                table: "Downloads",
                column: "DropId",
                filter: "\"DropId\" IS NOT NULL");

            migrationBuilder.CreateIndex(
                name: "IX_Downloads_PersonId_ReleaseId",
                table: "Downloads",
                columns: new[] { "PersonId", "ReleaseId" },
                filter: "\"PersonId\" IS NOT NULL");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "IX_Downloads_DropId",
                table: "Downloads");

            migrationBuilder.DropIndex(
                name: "IX_Downloads_PersonId_ReleaseId",
                table: "Downloads");

            migrationBuilder.CreateIndex(
                name: "IX_Downloads_DropId",
                table: "Downloads",
                column: "DropId");

            migrationBuilder.CreateIndex(
                name: "IX_Downloads_PersonId_ReleaseId",
                table: "Downloads",
                columns: new[] { "PersonId", "ReleaseId" });
        }
    }
}
