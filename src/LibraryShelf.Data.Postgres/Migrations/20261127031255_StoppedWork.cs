using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class StoppedWork : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<long>(
                name: "BackupStoppedAt",
                table: "Shops",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "ListenHeldAt",
                table: "Releases",
                type: "bigint",
                nullable: true);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "BackupStoppedAt",
                table: "Shops");

            migrationBuilder.DropColumn(
                name: "ListenHeldAt",
                table: "Releases");
        }
    }
}
